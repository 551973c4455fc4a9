"""Forms lose nothing: mistakes, leaving by accident, putting a record aside and bringing it back."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Deviation
from tests.browser.looking import NARROW, faults
from tests.browser.serving import Served
from tests.browser.steps import cells, fill, follow, go, heading, open_first, press, told

pytestmark = pytest.mark.browser


def test_a_form_with_mistakes_keeps_the_typing_and_leads_to_each_of_them(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    go(page, "Collect", "Populations")
    follow(page, "New population")
    fill(page, name="Fonte Seca", species_id="Quercus subber", latitude="140,5", longitude="-5,5")
    press(page, "Save")

    summary = page.get_by_role("alert")
    expect(summary).to_be_focused()
    typed = {name: page.locator(f"main [name={name}]").input_value()
             for name in ("name", "species_id", "latitude", "longitude")}  # fmt: skip
    assert typed == {
        "name": "Fonte Seca", "species_id": "Quercus subber", "latitude": "140,5", "longitude": "-5,5",
    }  # fmt: skip
    expect(page.locator("[aria-invalid=true]")).to_have_count(2)
    summary.get_by_role("link").filter(has_text="Species").click()
    expect(page.locator("[name=species_id]")).to_be_focused()
    assert faults(page) == []
    page.set_viewport_size(NARROW)
    assert faults(page) == []


def test_leaving_a_form_with_typing_asks_first(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season, demo_season.address("populations.new"))
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    page.locator("main [name=name]").press_sequentially("Fonte Seca")
    page.get_by_role("link", name="Cancel").click()

    heading(page, "New population")
    expect(page.locator("main [name=name]")).to_have_value("Fonte Seca")
    assert asked == ["beforeunload"]


def test_a_button_that_is_pressed_twice_writes_once(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo, own_demo.address("deviations.new"))
    sent = []
    page.on("request", lambda request: sent.append(request.url) if request.method == "POST" else None)
    fill(page, what="The pump stood still for a night")
    page.get_by_role("main").get_by_role("button", name="Save").dblclick()

    heading(page, "The pump stood still for a night")
    assert len(sent) == 1
    with own_demo.session() as session:
        assert len(session.scalars(select(Deviation).where(Deviation.what.startswith("The pump"))).all()) == 1

    page.go_back()
    fill(page, what="The pump stood still again")
    press(page, "Save")
    heading(page, "The pump stood still again")


def test_a_site_is_put_aside_and_brought_back(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo)
    go(page, "Plant", "Planting sites")
    before = sites(page)
    code = open_first(page, "Planting sites")
    page.get_by_text("Archive…").click()
    press(page, "Archive")
    told(page, "was archived. Its history stays.")

    go(page, "Plant", "Planting sites")
    assert sites(page) == before[1:]
    fill(page, archived="Only archived")
    press(page, "Show")
    assert sites(page) == [code]
    open_first(page, "Planting sites")
    press(page, "Bring back")
    told(page, "is back in the lists.")
    go(page, "Plant", "Planting sites")
    assert sites(page) == before


def sites(page: Page) -> list[str]:
    return [row[0] for row in cells(page.get_by_role("table", name="Planting sites"))]
