"""What was seen in the field, and the collecting programme, reached from the season page."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import faults, folded_faults
from tests.browser.serving import Served
from tests.browser.steps import cells, download, fill, follow, go, heading, leave_by, open_first, press, told

pytestmark = pytest.mark.browser


def test_the_programme_is_one_click_from_the_season_and_a_trip_is_two(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    follow(page, "Collecting programme")
    heading(page, "Collecting programme")
    needs = cells(page.locator("#programme"))
    assert page.locator(".figure-value").first.inner_text() == str(len(needs))
    in_file = {row["Species"] for row in download(page, "XLSX")}
    assert in_file == set(page.locator("#programme tbody th .taxon").all_inner_texts())

    leave_by(page.locator(".trip-list a").first)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Trip to ")
    assert page.locator(".labels li").count() == page.locator(".trip-stop h3").count()
    follow(page, "A label for every mother plant")
    assert page.locator(".labels li").count() > page.locator(".trip-stop h3").count()
    assert faults(page) == []


def test_what_no_permit_covers_is_two_clicks_away(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season)
    go(page, "Collect")
    follow(page, "Collecting programme")
    follow(page, "List for the authority")
    heading(page, "Collecting without a permit")
    reasons = {row[-1] for row in cells(page.locator("#asking"))}
    assert all("permit" in reason.casefold() for reason in reasons)
    assert faults(page) == []


def test_bags_are_pasted_looked_at_and_saved(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo, "/lots?q=Crataegus+monogyna&sort=-code")
    open_first(page, "Lots")
    follow(page, "Write down bags")
    page.get_by_label("From a spreadsheet").fill("Tag\tWeight\nA1\t600\nA2\t200\nA3\t200\n")
    press(page, "Put into rows")
    expect(page.get_by_label("Weight, row 1", exact=True)).to_have_value("600")
    press(page, "Save the bags")
    told(page, "3 mother plants, worth 2.3 in equal shares: below 15, too few.")
    told(page, "Bag A1 alone is 60")
    assert [row[:3] for row in cells(page.locator("#bags"))] == [
        ["A1", "600", "60 %"], ["A2", "200", "20 %"], ["A3", "200", "20 %"],
    ]  # fmt: skip
    follow(page, "Write down what was seen")
    fill(page, plants_present="60", crop_share="30 %", cut_total="20", cut_sound="18", habitat="Hedge")
    press(page, "Save")
    told(page, "leaves the stand too little")
    assert [*faults(page), *folded_faults(page)] == []
