"""What stands ready is found and taken along as a sheet; what the season taught begins with the largest error."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

import pypdfium2
import pytest
from openpyxl import load_workbook
from playwright.sync_api import Page, expect

from tests.browser.looking import faults
from tests.browser.serving import Served
from tests.browser.steps import cells, follow, go, heading, leave_by, press

pytestmark = pytest.mark.browser


def number(text: str) -> int:
    return int(text.split(maxsplit=1)[0].replace(",", ""))


def stock(page: Page) -> list[list[str]]:
    return cells(page.locator("#stock"))


def fetched(page: Page, label: str) -> bytes:
    """What the link of that name gives."""
    address = page.get_by_role("link", name=label, exact=True).first.get_attribute("href")
    answer = page.request.get(address or "")
    assert answer.ok
    return bytes(answer.body())


def test_what_stands_ready_is_found_grouped_narrowed_and_taken_along(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    go(page, "Plant", "Ready for the season")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Ready for the season 2026/27")
    ready = number(page.locator(".figure", has_text="Ready now").first.locator(".figure-value").inner_text())
    by_species = stock(page)
    assert sum(number(row[1]) for row in by_species) in {ready, 2 * ready}

    follow(page, "Size grade")
    expect(page.locator("#stock caption")).to_have_text("By size grade")
    assert "Not graded yet" in [row[0] for row in stock(page)]
    assert faults(page) == []

    sheet = load_workbook(io.BytesIO(fetched(page, "Workbook")))["By size grade"]
    assert sheet.cell(sheet.max_row, 2).value == ready
    document = pypdfium2.PdfDocument(fetched(page, "PDF"))
    first = document[0].get_textpage().get_text_range()
    assert "Ready for the season 2026/27" in first
    assert f"{ready:,}" in first

    leave_by(page.get_by_role("navigation", name="Grouped by").get_by_role("link", name="Species"))
    name = page.locator("#stock tbody tr").first.locator("th a").inner_text()
    follow(page, name)
    expect(page.locator("#stock caption")).to_have_text("Batch by batch")
    expect(page.get_by_label("Species")).to_have_value(_chosen(page, name))
    assert all(name in row for row in page.locator("#stock tbody th").all_inner_texts())


def _chosen(page: Page, name: str) -> str:
    return page.get_by_label("Species").locator("option", has_text=name).get_attribute("value") or ""


def test_on_a_phone_and_on_paper_nothing_runs_out_of_the_page(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(demo_season, "/ready?season=2027", **phone)
    heading(page, "Ready for the season 2027/28")
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    expect(page.locator("#unsown-table")).to_contain_text("Sowing list")
    page.emulate_media(media="print")
    expect(page.get_by_role("link", name="Workbook")).to_be_hidden()
    expect(page.locator("#stock")).to_be_visible()


def test_the_plan_and_the_stock_say_which_is_which(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season, "/ready")
    follow(page, "What the plan expects of all seasons, seed not yet sown included")
    heading(page, "What the plan will give")
    expect(page.get_by_role("main")).to_contain_text("This is the plan's forecast")
    follow(page, "What stands ready and what grows, by today’s counts")
    assert page.url.endswith("/ready")


def test_what_the_season_teaches_is_read_from_the_largest_error_on(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    go(page, "Report", "Next year")
    heading(page, "What 2026/27 teaches the next plan")
    expect(page.locator(".lead")).to_contain_text("What cost most:")
    costs = [row[1] for row in cells(page.locator("#errors"))]
    plants = [int(found[0].replace(",", "")) if (found := re.search(r"[\d,]+", text)) else 0 for text in costs]
    assert plants == sorted(plants, reverse=True)
    assert plants[0] > 0

    expect(page.locator("#changes")).to_contain_text("instead of")
    book = load_workbook(io.BytesIO(fetched(page, "XLSX")))
    assert book["Rates"].max_row - 1 == len(costs)
    page.get_by_label("Stage").select_option(label="Establishment")
    press(page, "Show")
    rows = cells(page.locator("#errors"))
    assert rows
    assert all("Establishment" in row[0] for row in rows)
    assert faults(page) == []
