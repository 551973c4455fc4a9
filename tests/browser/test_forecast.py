"""A batch is counted twice on a phone, the forecast moves, and the shortage it shows is mended by one click."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy.orm import Session

from nursery.database import make_engine
from tests.browser.looking import faults
from tests.browser.serving import Served, serving
from tests.browser.steps import cells, follow, go, heading, press, told
from tests.conftest import TODAY, Maker
from tests.databases import Kept
from tests.services.forecast.season_maker import Season

pytestmark = pytest.mark.browser


@pytest.fixture
def sown(set_up_file: Kept, tmp_path: Path) -> Iterator[tuple[Served, str, int]]:
    """Two sites sown a month ago as the plan in force asks, the south half as much again; the north's batch."""
    url = set_up_file.copy(tmp_path, "sown")
    engine = make_engine(url)
    with Session(engine, expire_on_commit=False) as session, session.begin():
        season = Season(session, Maker(session), TODAY - dt.timedelta(days=30))
        north = season.sow(season.north)
        season.sow(season.south)
        season.sow(None, part=0.5).target_id = season.south.id
    engine.dispose()
    kept = Kept(set_up_file.store, f"{tmp_path.parent.name}-{tmp_path.name}")
    kept.store.keep(url, kept.name)
    with serving(kept, tmp_path) as served:
        yield served, north.code, north.seeds


def count(page: Page, stage: str, plants: int) -> None:
    page.get_by_label("Stage").select_option(label=stage)
    page.get_by_label("Plants in all").fill(str(plants))
    press(page, "Save")
    told(page, "Saved")


def points(page: Page) -> list[list[str]]:
    return cells(page.get_by_role("table", name="The forecast after each count"))


def number(text: str) -> int:
    return int(text.replace(",", ""))


def test_two_counts_move_the_forecast_and_one_click_brings_plants(
    sown: tuple[Served, str, int], visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    served, code, seeds = sown
    page = visit(served, "/forecast", **phone)
    heading(page, "Forecast")
    north = page.get_by_role("row").filter(has_text="North bank")
    expect(north).to_contain_text("Can spare some")

    page.goto("/batches")
    follow(page, code)
    count(page, "Emerged", round(0.9 * seeds))
    page.goto("/forecast")
    expect(north).not_to_contain_text("Falls short")
    follow(page, "North bank")
    first = points(page)
    assert [row[1] for row in first] == [
        "Sown",
        f"{code} counted: Emerged, {round(0.9 * seeds):,} plants",
        "Today",
    ]

    follow(page, first[1][1])
    count(page, "Growing", round(0.2 * seeds))
    go_to_shortages(page)
    expect(north).to_contain_text("Falls short")
    follow(page, "North bank")
    told(page, f"Shown first by the count of {code} on")
    moved = points(page)
    assert len(moved) == 4
    assert number(moved[2][2]) < number(moved[1][2])
    expect(page.get_by_role("row").filter(has_text="shows the shortage")).to_contain_text("Growing")
    expect(page.get_by_role("heading", name="Sow more")).to_be_visible()
    assert faults(page) == []

    press_first(page, "Split off")
    told(page, "is now for this target")
    assert number(points(page)[-1][2]) > number(moved[-1][2])
    assert len(cells(page.get_by_role("table", name="Batches of this target"))) == 2


def go_to_shortages(page: Page) -> None:
    """From the season page, where they stand on top."""
    page.goto("/")
    expect(page.get_by_role("heading", name="Growing plants that fall short")).to_be_visible()
    page.goto("/forecast")


def press_first(page: Page, name: str) -> None:
    with page.expect_navigation():
        page.get_by_role("main").get_by_role("button", name=name).first.click()


def test_a_new_plan_from_the_way_out_sows_only_what_is_missing(
    sown: tuple[Served, str, int], visit: Callable[..., Page]
) -> None:
    served, code, _seeds = sown
    page = visit(served, "/batches")
    follow(page, code)
    count(page, "Growing", 150)
    page.goto("/forecast?standing=short")
    follow(page, "Ways out North bank, Quercus suber")
    expect(page.get_by_role("heading", name="What can still be done")).to_be_visible()
    follow(page, "Make a new plan")
    press(page, "Make today’s plan")
    go(page, "Plan", "Plans")
    newest = page.get_by_role("table").first.get_by_role("rowheader").get_by_role("link").first
    with page.expect_navigation():
        newest.click()
    lines = page.get_by_role("table", name="Plan lines").get_by_role("row")
    expect(lines.filter(has_text="South bank")).to_contain_text("Growing")
    expect(lines.filter(has_text="North bank")).not_to_contain_text("Growing")
