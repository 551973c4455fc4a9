"""From the season to a planted site, and by way of its mixed lot to a single mother with her tag."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import NARROW, WIDE, Complaints, faults
from tests.browser.serving import Served
from tests.browser.steps import follow, heading, leave_by

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("viewport", [WIDE, NARROW], ids=["wide", "phone"])
def test_a_planted_site_leads_to_a_single_mother(
    demo_season: Served, visit: Callable[..., Page], viewport: dict[str, int]
) -> None:
    page = visit(demo_season, viewport=viewport)
    complaints = Complaints(page)
    if viewport is NARROW:
        page.get_by_text("Menu", exact=True).click()
    leave_by(page.get_by_role("banner").get_by_role("link", name="Plant", exact=True))
    leave_by(page.get_by_role("main").get_by_role("link", name="Planting sites", exact=True).first)
    leave_by(page.get_by_role("link", name="S-010", exact=True).first)
    expect(page.get_by_role("table", name="Plantings")).to_contain_text("120")
    follow(page, "Trace its plants")

    heading(page, "Trace of Taralda gorge")
    planted = page.get_by_role("region", name="220 plants stand here")
    expect(planted).to_contain_text("40.9")
    expect(planted).to_contain_text("effective mothers of Alnus glutinosa")
    chain = page.get_by_role("region", name="From stands by way of lots to the plants that stand here")
    assert [label.strip() for label in chain.locator(".flow-label").all_text_contents()] == [
        "P-036", "P-014", "P-015", "ARUN-2226-3", "ANUT-3223-P", "ANUT-3224-M", "ANUT-3226-J",
        "Planted 15 Nov 2025", "Planted 12 Nov 2026", "S-010 · 220",
    ]  # fmt: skip
    chain.focus()
    expect(chain).to_be_focused()
    assert faults(page) == []

    mothers = page.get_by_role("table", name="Single mothers of these plants").first
    leave_by(mothers.get_by_role("row", name="P-015").get_by_role("link", name="Mother 01"))
    heading(page, "Mother 01 of P-015: where it went")
    expect(page.get_by_role("table", name="Plantings").locator("tbody tr")).to_contain_text("Taralda gorge")
    expect(page.get_by_role("table", name="Plantings").locator("tbody tr")).to_contain_text("1.67 %")
    assert faults(page) == []
    leave_by(page.locator("a.flow-node-site", has_text="S-010"))
    heading(page, "Trace of Taralda gorge")
    assert complaints.take() == []
