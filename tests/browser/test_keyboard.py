"""All without a mouse."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.serving import Served
from tests.browser.steps import heading

pytestmark = pytest.mark.browser


def tab_to(page: Page, name: str) -> None:
    """Press Tab until the focus is on the control or link with this text."""
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate("() => document.activeElement.innerText.trim()") == name:
            return
    raise AssertionError(f"Tab never comes to {name!r}")


def test_the_first_tab_skips_to_the_content(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season)
    page.keyboard.press("Tab")
    skip = page.get_by_role("link", name="Skip to the content")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    page.keyboard.press("Enter")
    expect(page.get_by_role("main")).to_be_focused()
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.querySelector('main').contains(document.activeElement)")


def test_sections_and_their_pages_are_reached_by_tab(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season)
    tab_to(page, "Grow")
    page.keyboard.press("Enter")
    heading(page, "Today’s work")
    tab_to(page, "Containers")
    page.keyboard.press("Enter")
    heading(page, "Containers")
    expect(page.get_by_role("main").get_by_role("link", name="Containers")).to_have_attribute(
        "aria-current", "page"
    )


def test_a_number_explains_itself_at_enter_and_folds_at_escape(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season, demo_season.address("plans.line", record_id=1))
    number = page.locator("details.explain").first
    why = number.locator(".explain-body")
    expect(why).to_be_hidden()
    number.locator("summary").focus()
    page.keyboard.press("Enter")
    expect(why).to_be_visible()
    page.keyboard.press("Escape")
    expect(why).to_be_hidden()
    expect(number.locator("summary")).to_be_focused()
