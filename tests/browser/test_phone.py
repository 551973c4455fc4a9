"""On a phone, in the shade house."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

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
    heading(page, "Sowing list, week 48")
    expect(grow).to_be_hidden()
