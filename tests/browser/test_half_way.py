"""The demo's season is half way through: work is late, and one batch has failed with ways out of it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Batch
from tests.browser.looking import faults
from tests.browser.serving import Served
from tests.browser.steps import cells, follow, heading, told

pytestmark = pytest.mark.browser


def test_late_work_stands_first_and_says_what_waiting_costs(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(demo_season, "/work", **phone)

    heading(page, "Today’s work")
    sections = page.get_by_role("main").get_by_role("heading", level=2).all_inner_texts()
    assert sections[0].startswith("Late")
    late = page.get_by_role("main").get_by_role("listitem").filter(has_text="Thin to one plant a cell")
    expect(late.first).to_contain_text("Volunteers of the river")
    expect(page.get_by_text("If done today").first).to_be_visible()
    assert faults(page) == []


def test_a_batch_that_failed_shows_ways_out_and_one_click_takes_the_first(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    page = visit(own_demo, "/forecast")
    row = page.get_by_role("row").filter(has_text="Brenhal terraces").filter(has_text="Rhamnus alaternus")
    expect(row).to_contain_text("Falls short")
    before = int(row.get_by_role("cell").nth(0).inner_text())

    row.get_by_role("link", name="Ways out").click()
    told(page, "Shown first by the count of B26-012")
    for way in ("Sow more", "Take from what others can spare", "Buy in"):
        expect(page.get_by_role("heading", name=way)).to_be_visible()
    assert faults(page) == []

    with page.expect_navigation():
        page.get_by_role("button", name="Split off").click()
    told(page, "is now for this target")
    assert "B26-012" in [line[0] for line in cells(page.get_by_role("table", name="Batches of this target"))]
    page.goto("/forecast")
    assert int(row.get_by_role("cell").nth(0).inner_text()) < before - 100

    page.goto("/")
    expect(page.get_by_role("heading", name="Growing plants that fall short")).to_be_visible()
    follow(page, "Today’s work")


def test_what_grows_for_a_target_is_traced_to_its_stand(demo_season: Served, visit: Callable[..., Page]) -> None:
    with demo_season.session() as session:
        batch = session.scalars(select(Batch).where(Batch.code == "B26-003")).one()
        assert batch.lot is not None
        target_id, stand = batch.target_id, batch.lot.population
        link, name = f"{stand.code} · {stand.name}", stand.name
    page = visit(demo_season, f"/trace/targets/{target_id}")

    expect(page.get_by_text("Nothing more is to be sown: what grows is enough.")).to_be_visible()
    follow(page, link)
    expect(page.get_by_role("heading", level=1)).to_contain_text(name)
