"""On a phone, in the shade house."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Lot, Movement
from nursery.models.movements import MovementKind
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
