"""Seed that is tested, refused, past its best or misplaced, each within three clicks of the season page."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import NARROW, Complaints, faults, folded_faults
from tests.browser.serving import Served
from tests.browser.steps import cells, download, fill, follow, heading, leave_by, press

pytestmark = pytest.mark.browser


def watch(page: Page, reason: str) -> None:
    """Two clicks: the card of the season page, then one reason; the third opens the first lot of it."""
    follow(page, "Retests and sow-by")
    heading(page, "Retests and sow-by")
    follow(page, reason)
    leave_by(page.get_by_role("table").get_by_role("rowheader").get_by_role("link").first)


@pytest.mark.parametrize(
    ("reason", "told"),
    [
        ("In the wrong place", "It freezes here."),
        ("Past its best", "Past its best since "),
        ("To sow in time", "It cannot wait for another season: sow by "),
        ("Test to repeat", "Refused: replicates differ by 28 points, and only 16 are allowed."),
    ],
)
def test_each_state_of_seed_is_three_clicks_from_the_season_page(
    reason: str, told: str, demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    complaints = Complaints(page)

    watch(page, reason)

    expect(page.get_by_role("main")).to_contain_text(told)
    picture = page.get_by_role("img", name="Curve of viability")
    expect(picture).to_be_visible()
    assert picture.evaluate("image => image.complete && image.naturalWidth > 300")
    assert faults(page) == []
    page.set_viewport_size(NARROW)  # type: ignore[arg-type]
    assert faults(page) + folded_faults(page) == []
    assert complaints.take() == []


def test_the_file_holds_what_the_list_shows(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season, "/watch?reason=past")
    shown = [row[0].split()[0] for row in cells(page.locator("#watched"))]

    rows = download(page, "XLSX")

    assert [row["Lot"] for row in rows] == shown
    assert {row["Reason"] for row in rows} == {"Past its best"}


def test_a_refused_test_is_repeated_and_a_wrong_one_withdrawn(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    page = visit(own_demo)
    watch(page, "Test to repeat")
    tests = page.locator("#tests")
    follow(page, "Germination")
    fill(page, counts="52 48 50 46", days="28", taken="0.1")
    press(page, "Save")

    expect(page.locator(".flashes")).to_contain_text("Germination: 49 %. Replicates differ by 6 points")
    assert tests.locator(".status").all_inner_texts()[:2] == ["Rules the lot", "Refused, repeat it"]
    page.get_by_label("Withdraw… Germination of 25 Nov 2026").click()
    tests.get_by_label("What was wrong with it").locator("visible=true").fill("Another lot’s dishes")
    leave_by(tests.get_by_role("button", name="Withdraw the test").locator("visible=true"))

    expect(tests).to_contain_text("Another lot’s dishes")
    assert tests.locator(".status").all_inner_texts()[:3] == ["Withdrawn", "Refused, repeat it", "Rules the lot"]
    assert faults(page) == []
