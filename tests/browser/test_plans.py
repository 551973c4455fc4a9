"""A figure of one's own changes the next plan, and the comparison says where."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.serving import Served
from tests.browser.steps import cells, fill, follow, go, heading, leave_by, press, told

pytestmark = pytest.mark.browser


def test_an_own_figure_is_seen_in_the_next_plan_and_in_the_comparison(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    page = visit(own_demo)
    go(page, "Species")
    follow(page, "Quercus suber")
    leave_by(page.get_by_role("link", name="change Purity after cleaning"))
    fill(page, value="49 %", reason="Ten bags weighed after cleaning")
    press(page, "Use this figure")
    expect(page.locator(".figure-row").filter(has_text="Purity after cleaning").first).to_contain_text("Our own")

    go(page, "Plan", "Plans")
    told(page, "Since “Demo” was made there were changes to")
    fill(page, label="After weighing")
    press(page, "Make today’s plan")
    heading(page, "After weighing")
    follow(page, "What this plan would change")
    heading(page, "Compare plans")
    changes = cells(page.get_by_role("table", name="Lines that differ"))
    assert {row[0] for row in changes} == {"Quercus suber"}
    assert {row[3] for row in changes} == {"Changed"}
