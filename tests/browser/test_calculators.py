"""Calculators compute, keep their address, and refuse in words."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import faults
from tests.browser.serving import Served
from tests.browser.steps import cells, fill, go, leave_by, press

pytestmark = pytest.mark.browser


def test_cells_filled_by_two_seeds_each(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season)
    go(page, "Calculators")
    address = demo_season.address("calculators.page", name="cell-fill")
    leave_by(page.locator(f"main a[href='{address}']").first)
    fill(page, germination="70 %", seeds_per_cell="2")
    press(page, "Calculate")

    # 1 - 0.3 ** 2; both up: 0.7 ** 2
    answers = [row[1] for row in cells(page.get_by_role("table", name="Result"))]
    assert answers == ["91 %", "9 %", "49 %"]
    assert faults(page) == []
    page.reload()
    expect(page.get_by_role("table", name="Result")).to_be_visible()


def test_a_calculator_says_what_cannot_be_and_keeps_the_typing(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season, demo_season.address("calculators.page", name="cell-fill"))
    fill(page, germination="170 %", seeds_per_cell="two")
    press(page, "Calculate")

    expect(page.get_by_role("alert")).to_be_focused()
    expect(page.locator("[aria-invalid=true]")).to_have_count(2)
    expect(page.locator("main [name=germination]")).to_have_value("170 %")
    expect(page.locator("main [name=seeds_per_cell]")).to_have_value("two")
    assert faults(page) == []
