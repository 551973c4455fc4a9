"""Hours and money as a person meets them in the demo season."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import faults
from tests.browser.serving import Served
from tests.browser.steps import go

pytestmark = pytest.mark.browser


def test_a_week_over_what_people_have_is_drawn_told_and_helped(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    go(page, "Grow", "Hours and costs")
    expect(page.get_by_role("heading", level=1)).to_have_text("Hours by week")

    too_much = page.locator("#weeks tbody tr", has_text="h too much")
    assert too_much.count() >= 2
    card = page.locator(".card", has_text="What would help:").first
    assert "may wait until the week of" in card.inner_text() or "Ask volunteers for" in card.inner_text()
    # The picture marks as many weeks as the table tells, and the same.
    picture = page.request.get(page.locator(".calendar-chart img").get_attribute("src") or "").text()
    drawn = picture.count('id="over-')
    assert drawn == too_much.count()

    page.get_by_role("link", name="By person").click()
    expect(page.locator("#portions tbody")).to_contain_text("Nobody yet")
    assert faults(page) == []


def test_what_a_plant_costs_by_species_explains_itself_and_adds_up_by_funder(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season, "/costs")
    row = page.locator("#costs tbody tr", has_text="Fraxinus angustifolia")
    planned = row.locator("details").first
    planned.locator("summary").click()
    expect(planned.get_by_text("an hour on average")).to_be_visible()
    expect(planned.get_by_text("15 % of all other costs")).to_be_visible()
    total = page.locator("#costs tfoot td").all_inner_texts()

    page.get_by_role("link", name="By funder").click()
    expect(page.get_by_role("columnheader", name="Funder")).to_be_visible()
    assert page.locator("#costs tfoot td").all_inner_texts() == total
    assert page.locator("#costs tbody tr").count() >= 2
    assert faults(page) == []


def test_a_what_if_stands_side_by_side_and_is_taken_over(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo, "/what-if")
    page.get_by_label("Species", exact=True).select_option(label="Quercus suber")
    page.get_by_role("button", name="Go on").click()
    targets = page.get_by_role("group", name="Targets that change").get_by_role("checkbox")
    assert targets.count() > 1
    for target in targets.all()[1:]:
        target.uncheck()
    page.get_by_label("Assurance").fill("97")
    page.get_by_role("button", name="Try it").click()

    sums = page.locator("#sums tbody tr")
    before, after = (sums.nth(0).locator("td").nth(at).inner_text().replace(",", "") for at in (0, 1))
    assert int(after) > int(before)
    expect(page.locator("#targets tbody tr")).to_have_count(1)
    assert faults(page) == []

    page.get_by_text("Take the change over…").click()
    page.get_by_role("button", name="Change the targets").click()
    expect(page.get_by_role("status")).to_contain_text("1 target was changed.")


def test_hours_are_logged_on_a_phone(
    own_demo: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(own_demo, "/hours/log/new", **phone)
    page.get_by_label("Work").select_option(label="Weeding")
    page.get_by_label("Hours").fill("2,5")
    page.get_by_role("button", name="Save", exact=True).click()

    expect(page.get_by_role("status")).to_contain_text("2.5 hours of “Weeding” were saved.")
    expect(page.locator("#log tbody tr").first).to_contain_text("Weeding")
    assert faults(page) == []
