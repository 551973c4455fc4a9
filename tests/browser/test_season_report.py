"""From the front page to the season's report, as somebody does who never saw the program."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

import openpyxl
import pypdfium2
import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import faults
from tests.browser.serving import Served

pytestmark = pytest.mark.browser
#: A report that takes longer than this many milliseconds on a busy machine is stuck.
MADE = 60_000


def make(page: Page) -> None:
    """Two clicks from the front page."""
    page.get_by_role("link", name="Report on season 2025/26").click()
    page.get_by_role("button", name="Make the report").click()
    page.wait_for_url(re.compile(r"/season-reports/\d+$"), timeout=MADE)


def test_from_the_front_page_to_the_report_in_two_clicks(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo)
    make(page)

    expect(page.get_by_role("heading", level=1)).to_have_text("Report on season 2025/26")
    expect(page.get_by_role("status")).to_contain_text("all three agree")
    planted = page.locator("#t-plants_by_species tfoot td").all_inner_texts()
    assert page.locator("#t-plants_by_site tfoot td").all_inner_texts() == planted
    expect(page.get_by_role("img", name=re.compile("Quercus|Salix")).first).to_be_visible()
    page.get_by_role("link", name="What went otherwise than planned").click()
    expect(page.locator("#t-deviations")).to_contain_text("damped off")
    assert faults(page) == []

    with page.expect_download() as taken:
        page.get_by_role("link", name="PDF", exact=True).click()
    read = pypdfium2.PdfDocument(taken.value.path())
    text = " ".join(" ".join(one.get_textpage().get_text_bounded() for one in read).split())
    read.close()
    assert " ".join(["All together", *planted]) in text
    with page.expect_download() as taken:
        page.get_by_role("link", name="Workbook", exact=True).click()
    book = openpyxl.load_workbook(io.BytesIO(taken.value.path().read_bytes()))
    sheet = book["Plants by species"]
    last = [cell.value for cell in sheet[sheet.max_row]][1:-1]
    assert [f"{number:,}" for number in last] == planted[:-1]


def test_the_check_counts_what_it_read_back(own_demo: Served, visit: Callable[..., Page]) -> None:
    page = visit(own_demo)
    make(page)
    page.get_by_role("link", name="Check that page, PDF and workbook agree").click()
    expect(page.get_by_text("The three agree.")).to_be_visible()
    cells = [int(text.replace(",", "")) for text in page.locator("#agreement td").all_inner_texts()]
    assert len(cells) == 3
    assert min(cells) > 500
    assert faults(page) == []


def test_the_report_is_made_in_portuguese_on_a_phone(
    own_demo: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(own_demo, "/season-reports/new", **phone)
    page.get_by_label("Language of the report").select_option(label="Português")
    page.get_by_role("button", name="Make the report").click()
    page.wait_for_url(re.compile(r"/season-reports/\d+$"), timeout=MADE)
    expect(page.locator("article.report")).to_have_attribute("lang", "pt")
    assert faults(page) == []


def test_a_suggestion_becomes_a_deviation_by_a_click_and_no_other_way(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    page = visit(own_demo, "/deviations/suggested")
    row = page.locator("#suggestions tbody tr", has_text="Salix salviifolia").first
    what = row.locator("th").inner_text()
    row.get_by_role("link").click()
    expect(page.get_by_label("What happened")).to_have_value(what)
    page.get_by_label("What was done").fill("Cuttings are taken in January next time")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status")).to_contain_text("was saved")
    page.goto("/deviations/suggested")
    expect(page.get_by_role("heading", level=1)).to_contain_text("2025/26")
    expect(page.locator("#suggestions th[scope=row]", has_text=what)).to_have_count(0)
    assert faults(page) == []
