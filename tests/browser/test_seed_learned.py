"""A species whose rate the nursery has corrected, one click from the season page; and what a new batch does."""

from __future__ import annotations

import os
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import Complaints, faults, folded_faults
from tests.browser.serving import Served

pytestmark = pytest.mark.browser
SHOTS = os.environ.get("NURSERY_SHOTS", "")


def test_the_corrected_rate_is_one_click_from_the_season_page(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    for options in ({}, phone):
        page = visit(demo_season, "/", **options)
        complaints = Complaints(page)
        page.get_by_role("link", name="Crataegus monogyna").and_(page.locator("[href$='/learned']")).click()
        expect(page.get_by_role("heading", level=1)).to_have_text("What this nursery has learned")
        section = page.locator("#seed-establishment")
        expect(section).to_contain_text("92 %")
        expect(section).to_contain_text("6 batches")
        expect(section).to_contain_text("64.3 %")
        expect(section.locator("svg.meter").last).to_be_visible()
        expect(page.locator("#plan-lines tbody tr")).to_have_count(8)
        if SHOTS:
            page.screenshot(path=f"{SHOTS}/learned{page.viewport_size['width']}.png", full_page=True)  # type: ignore[index]
        assert faults(page) + folded_faults(page) == []
        assert complaints.take() == []


def test_a_batch_is_written_down_counts_and_is_withdrawn_again(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    page = visit(own_demo, "/")
    page.locator("a[href='/species/crataegus-monogyna/learned']").click()
    page.get_by_label("Rate", exact=False).first.select_option("seed.hardening")
    page.get_by_label("How many succeeded").fill("120")
    page.get_by_label("Of how many").fill("100")
    page.get_by_label("What it was").fill("frame 3")
    page.get_by_role("button", name="Let it count").click()
    expect(page.get_by_text("120 of 100 cannot be", exact=False).first).to_be_visible()
    expect(page.get_by_label("What it was")).to_have_value("frame 3")
    page.get_by_label("How many succeeded").fill("62")
    page.get_by_role("button", name="Let it count").click()
    section = page.locator("#seed-hardening")
    expect(section).to_contain_text("frame 3")
    expect(section).to_contain_text("1 batch")
    section.get_by_text("Withdraw…").click()
    section.get_by_label("Why it should not count").fill("wrong frame")
    section.get_by_role("button", name="Withdraw the batch").click()
    expect(page.locator("#seed-hardening")).to_have_count(0)
    expect(page.get_by_text("Withdrawn by Ana Seabra: wrong frame", exact=False)).to_be_visible()
