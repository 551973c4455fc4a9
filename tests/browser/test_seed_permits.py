"""From the season page to the permit that is nearly spent, and to the lot on hold, which is then released."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import Complaints, faults, folded_faults
from tests.browser.serving import Served

pytestmark = pytest.mark.browser


def test_the_permit_nearly_spent_is_one_click_from_the_season(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    spent = page.locator("#seed li", has_text="Quercus rotundifolia").filter(has_text="left").first

    spent.get_by_role("link").first.click()

    expect(page.get_by_role("heading", level=1)).to_have_text("COL GV 2026/07")
    line = page.locator("#lines tbody tr", has_text="Quercus rotundifolia")
    expect(line).to_contain_text("44.29 kg")
    expect(line).to_contain_text("47 kg")
    expect(line).to_contain_text("2.71 kg left")


def test_the_lot_on_hold_is_released_with_a_reason(
    own_demo: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(own_demo, **phone)
    complaints = Complaints(page)

    page.locator("#seed").get_by_role("link", name="PYUR-4223-P").click()
    expect(page.locator("#permit")).to_contain_text("Pyrus bourgaeana is not in the permit.")
    page.get_by_role("link", name="Permit and release").click()
    page.locator("#permit summary", has_text="Release").click()
    page.get_by_label("Reason").fill("Letter of the council of 12 November")
    assert faults(page) == []
    page.get_by_role("button", name="Release the lot").click()

    expect(page.locator("#permit")).to_contain_text("Released by Ana Seabra")
    expect(page.locator("#permit")).to_contain_text("Letter of the council of 12 November")
    page.goto("/lots?hold=True")
    expect(page.locator("#main, main")).to_contain_text("Nothing fits.")
    assert complaints.take() == []


def test_one_button_notes_the_notice_of_all_species(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo)
    notices = page.locator("#seed li", has_text="before collecting:")
    before = notices.count()
    said = notices.first.inner_text()

    notices.first.get_by_role("button", name="The authority was told").click()

    expect(page.get_by_text("Noted: the authority was told today.")).to_be_visible()
    expect(page.locator("main")).not_to_contain_text("before collecting")
    page.goto("/")
    assert (before, said in page.locator("#seed").inner_text()) == (1, False)


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize(
    "address", ["/permits", "/permits/1", "/permits/1/lines/1", "/attachments/new/lots/1", "/permits/new"]
)
def test_permit_pages_have_no_fault(
    demo_season: Served, visit: Callable[..., Page], address: str, width: int
) -> None:
    page = visit(demo_season, "", viewport={"width": width, "height": 900})
    complaints = Complaints(page)

    page.goto(address)

    assert [*faults(page), *folded_faults(page), *complaints.take()] == []
