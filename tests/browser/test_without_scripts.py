"""Scripts help and are not needed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.serving import Served
from tests.browser.steps import go, heading, press, told

pytestmark = pytest.mark.browser


def test_a_target_is_set_and_explained_without_scripts(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo, own_demo.address("targets.new"), java_script_enabled=False)
    for name, text in {
        "site_id": "S-001",
        "species_id": "Quercus suber",
        "season": "2029/30",
        "plants": "1200",
    }.items():
        page.locator(f"main [name={name}]").fill(text)
    press(page, "Show what it means")
    expect(page.locator("#meaning")).to_contain_text("1,200 plants to plant.")
    press(page, "Save")
    told(page, "was saved.")


def test_a_mistake_is_told_without_scripts(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season, demo_season.address("targets.new"), java_script_enabled=False)
    page.locator("main [name=plants]").fill("-5")
    press(page, "Save")
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.locator("main [name=plants]")).to_have_value("-5")


def test_menus_and_explanations_fold_without_scripts(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(demo_season, demo_season.address("plans.line", record_id=1), java_script_enabled=False, **phone)
    number = page.locator("details.explain").first
    number.locator("summary").click()
    expect(number.locator(".explain-body")).to_be_visible()
    number.locator("summary").click()
    expect(number.locator(".explain-body")).to_be_hidden()
    page.get_by_text("Menu", exact=True).click()
    go(page, "Plan")
    heading(page, "Targets")
