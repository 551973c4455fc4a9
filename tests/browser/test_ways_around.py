"""Finding things: by code, along the trace, on the chart, in another language."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Draw, Lot, Plan, PlanLine
from tests.browser.serving import Served
from tests.browser.steps import follow, go, heading, leave_by, press

pytestmark = pytest.mark.browser


@pytest.fixture
def drawn(demo_season: Served) -> tuple[Lot, PlanLine]:
    """A lot, and a line of the plan that draws it."""
    with demo_season.session() as session:
        adopted = select(Draw).join(Draw.line).join(PlanLine.plan).where(Plan.is_adopted)
        draw = session.scalars(adopted.order_by(Draw.id).limit(1)).one()
        line, lot = session.get_one(PlanLine, draw.line_id), session.get_one(Lot, draw.lot_id)
        assert lot.population.name
        session.expunge_all()
    return lot, line


def test_a_code_leads_straight_to_its_record(
    demo_season: Served, visit: Callable[..., Page], drawn: tuple[Lot, PlanLine]
) -> None:
    page = visit(demo_season)
    page.get_by_role("banner").get_by_role("searchbox").fill(drawn[0].code.lower())
    page.keyboard.press("Enter")
    heading(page, drawn[0].code)
    assert page.url.endswith(demo_season.address("lots.detail", record_id=drawn[0].id))


def test_a_misread_code_says_so_and_offers_what_is_near(
    demo_season: Served, visit: Callable[..., Page], drawn: tuple[Lot, PlanLine]
) -> None:
    code = drawn[0].code
    page = visit(demo_season)
    page.get_by_role("banner").get_by_role("searchbox").fill(code[:-1] + ("B" if code[-1] != "B" else "C"))
    page.keyboard.press("Enter")
    expect(page.locator(".note")).to_contain_text("check character")
    follow(page, code)
    heading(page, code)


def test_from_a_target_to_the_mother_stand_and_back(
    demo_season: Served, visit: Callable[..., Page], drawn: tuple[Lot, PlanLine]
) -> None:
    lot, line = drawn
    page = visit(demo_season)
    go(page, "Plant", "Trace")
    page.get_by_label("Lot code, planting site or species").fill(line.species_name)
    press(page, "Find")
    target = page.get_by_role("row").filter(has_text=line.site_name).filter(has_text=season(line))
    leave_by(target.get_by_role("link", name=line.species_name))
    heading(page, f"Trace {line.species_name} at {line.site_name}")
    stand = page.get_by_role("table", name="The same as a table").get_by_role("link", name=lot.population.name)
    leave_by(stand.first)
    expect(page.get_by_role("heading", level=1)).to_contain_text(lot.population.name)

    follow(page, lot.code)
    heading(page, lot.code)
    follow(page, "Where it may go")
    drawing = page.get_by_role("table", name="Plan lines that draw this lot")
    expect(drawing.get_by_role("link", name=line.site_name).first).to_be_visible()


def season(line: PlanLine) -> str:
    return f"{line.season}/{(line.season + 1) % 100:02d}"


@pytest.mark.parametrize("wide", [True, False], ids=["desk", "phone"])
def test_the_calendar_is_a_picture_with_its_words(
    wide: bool, demo_season: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(demo_season, **({} if wide else phone))
    page.goto(demo_season.address("calendar.page"))
    chart = page.locator("figure.calendar-chart img")
    expect(chart).to_be_visible()
    page.wait_for_load_state("networkidle")
    assert chart.evaluate("image => image.complete && image.naturalWidth > 0")
    assert (chart.get_attribute("alt") or "").startswith("Calendar chart of ")
    assert ("narrow=1" in chart.evaluate("image => image.currentSrc")) == (not wide)
    expect(page.get_by_role("table", name="The same dates")).to_be_visible()


def test_another_language_keeps_the_page(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season, demo_season.address("lots.list_page", q="quercus", sort="-code"))
    address = page.url
    leave_by(page.get_by_role("button", name="Português"))
    expect(page.locator("html")).to_have_attribute("lang", "pt")
    assert page.url == address
    leave_by(page.get_by_role("button", name="English"))
    expect(page.locator("html")).to_have_attribute("lang", "en")
    assert page.url == address
