"""On a phone, in the shade house."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Lot, Movement, Paper
from nursery.models.movements import MovementKind
from nursery.models.papers import PaperKind
from tests.browser.looking import faults
from tests.browser.serving import Served
from tests.browser.steps import heading

pytestmark = pytest.mark.browser


def test_the_menu_opens_leads_on_and_closes(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(demo_season, **phone)
    grow = page.get_by_role("banner").get_by_role("link", name="Grow", exact=True)
    expect(grow).to_be_hidden()
    page.get_by_text("Menu", exact=True).tap()
    expect(grow).to_be_visible()
    expect(page.get_by_role("banner").get_by_role("searchbox")).to_be_visible()
    assert faults(page) == []
    page.keyboard.press("Escape")
    expect(grow).to_be_hidden()
    page.get_by_text("Menu", exact=True).tap()
    grow.tap()
    heading(page, "Today’s work")
    expect(grow).to_be_hidden()


def test_the_page_of_a_mixed_lot_is_as_wide_as_the_phone(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    with demo_season.session() as session:
        made = select(Movement.lot_id).where(Movement.kind == MovementKind.MIXED, Movement.change > 0)
        mixed = session.scalars(select(Lot.id).where(Lot.id.in_(made), Lot.amount_mg > 0)).one()
    page = visit(demo_season, f"/lots/{mixed}", **phone)
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    assert faults(page) == []


@pytest.mark.parametrize("kind", list(PaperKind)[2:4])
def test_values_of_a_paper_stand_below_their_labels_on_a_phone(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object], kind: PaperKind
) -> None:
    with demo_season.session() as session:
        paper = session.scalars(select(Paper).where(Paper.kind == kind).limit(1)).one()
        path, load = f"/papers/{paper.id}", paper.dispatch
        draw = f"/papers/load/{paper.dispatch_id}/{kind.value}/{paper.particulars['part']}"
        assert load is not None
        assert load.recipient_id == paper.recipient_id
    page = visit(demo_season, path, **phone)
    for shown in (path, draw):
        page.goto(shown)
        widths = page.locator("dl.facts dd").evaluate_all("all => all.map(one => one.clientWidth)")
        assert min(widths) > 200
    assert faults(page) == []
