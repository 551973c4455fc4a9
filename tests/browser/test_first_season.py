"""The whole first morning: bring the tables in, say what is wanted, make the plan, print the list for the crew."""

from __future__ import annotations

import shutil
import subprocess
import unicodedata
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import faults
from tests.browser.serving import Served
from tests.browser.steps import bring_in, cells, download, fill, follow, go, heading, press, save, told

pytestmark = pytest.mark.browser

# As a spreadsheet of the country writes them: semicolons, decimal commas, one day first.
POPULATIONS = """Code;Name;Species;Latitude;Longitude;Basin;Fruiting plants
P-01;Vale da Eira;Quercus suber;40,1012;-7,5034;Ribeira Funda;60
P-02;Ponte Velha;Fraxinus angustifolia;40,1230;-7,4871;Ribeira Funda;45
"""
SITES = """Code;Name;Latitude;Longitude;Area (ha);Basin;Planting opens;Planting closes
S-01;Curva do Moinho;40,1155;-7,4950;2,5;Ribeira Funda;1/11;28/2
"""
LOTS = """Population;Collected on;Ripening year;Mother plants;Clean seed (g);Purity;TSW;Germination
P-01;28/10/2026;2026;30;24000;99 %;4200,5;85
P-02;15/10/2026;2026;25;1500,5;95 %;68,5;0,7
"""
TARGETS = """Site code;Species;Season;Plants
S-01;Fraxinus angustifolia;2027/28;600
"""


def test_from_the_first_table_to_the_printed_list(
    own_nursery: Served, visit: Callable[..., Page], tmp_path: Path
) -> None:
    page = visit(own_nursery)
    expect(page.get_by_role("heading", name="No plan yet")).to_be_visible()

    bring_in(page, "Planting sites", SITES)
    bring_in(page, "Populations", POPULATIONS)
    furnish_the_nursery(page)
    bring_in(page, "Lots", LOTS)
    bring_in(page, "Targets", TARGETS)
    set_a_target(page)
    make_the_plan(page)
    lines = lines_on_screen(page)
    assert [line[:2] for line in lines] == [("Fraxinus angustifolia", "600"), ("Quercus suber", "400")]
    assert lines == lines_in_the_workbook(page)
    explain_a_line(page)
    adopt(page)
    open_the_first_week(page)
    work = work_on_screen(page)
    assert work == work_in_the_workbook(page)
    paper = on_paper(page, tmp_path)
    assert [words for words in ("Fraxinus angustifolia", "Fri 27 Nov", *work) if bare(words) not in paper] == []


def furnish_the_nursery(page: Page) -> None:
    go(page, "Grow", "Nurseries")
    follow(page, "New nursery")
    fill(page, name="Yard", latitude="40,11", longitude="-7,49", bench_area_m2="80")
    save(page, "Yard")
    go(page, "Grow", "Containers")
    follow(page, "New container")
    fill(page, nursery_id="Yard", name="Forest tray", cells_per_tray="40", cell_volume_cm3="300")
    save(page, "Forest tray")


def set_a_target(page: Page) -> None:
    """By a common name and the first year of the season, as people type."""
    go(page, "Plan", "Targets")
    follow(page, "New target")
    fill(page, site_id="S-01", species_id="sobreiro", season="2027", plants="400")
    press(page, "Show what it means")
    told(page, "400 plants to plant.")
    save(page, "Quercus suber · Curva do Moinho · 2027/28")
    told(page, "“sobreiro” was understood as Quercus suber.")


def make_the_plan(page: Page) -> None:
    go(page, "Plan", "Plans")
    fill(page, label="First plan")
    press(page, "Make today’s plan")
    heading(page, "First plan")


def lines_on_screen(page: Page) -> list[tuple[str, ...]]:
    """Species, plants, trays, seeds and grams of each line."""
    return [(row[0], *row[3:7]) for row in cells(page.get_by_role("table", name="Plan lines"))]


def lines_in_the_workbook(page: Page) -> list[tuple[str, ...]]:
    return [
        (
            line["Species"],
            f"{line['Wanted']:,}",
            f"{line['Trays']:,}",
            f"{line['Seeds or cuttings']:,}",
            f"{line['Seed (g)']:,.1f}",
        )
        for line in download(page, "XLSX")
    ]


def explain_a_line(page: Page) -> None:
    """The first line's way to its number of seeds can be read."""
    follow(page, "Fraxinus angustifolia")
    heading(page, "Fraxinus angustifolia · Curva do Moinho")
    seeds = page.locator("dl .explain").filter(has_text="Cells sown").last
    seeds.locator("summary").click()
    expect(seeds.locator(".explain-body")).to_be_visible()
    assert faults(page) == []
    page.keyboard.press("Escape")


def adopt(page: Page) -> None:
    follow(page, "First plan")
    page.get_by_text("Adopt…").click()
    press(page, "Adopt this plan")
    told(page, "“First plan” is now the adopted plan.")


def open_the_first_week(page: Page) -> None:
    go(page, "Season")
    first = page.get_by_role("main").get_by_role("table").first
    assert [row[:3] for row in cells(first)] == [
        ["Fraxinus angustifolia", "Fri 27 Nov", "Begin warm stratification"]
    ]
    follow(page, "Sowing list of this week")
    heading(page, "Sowing list, week 48")


def work_on_screen(page: Page) -> list[str]:
    """Lot, seeds and grams of each task, then its trays, as the crew reads them."""
    rows = [row for row in cells(page.get_by_role("table", name="Yard")) if len(row) > 1]
    return [words for row in rows for words in row[3:5]]


def work_in_the_workbook(page: Page) -> list[str]:
    return [
        words
        for task in download(page, "XLSX")
        for words in (
            f"{task['Lot']} {task['Seeds or cuttings']:,} seeds · {task['Seed (g)']:.1f} g",
            f"for {task['Trays']} trays",
        )
    ]


def on_paper(page: Page, folder: Path) -> str:
    """The text of the list as printed; without a reader of PDF, what the paper would show."""
    file = folder / "list.pdf"
    page.pdf(path=file, format="A4")
    reader = shutil.which("pdftotext")
    if reader:
        read = subprocess.run([reader, "-raw", file, "-"], check=True, capture_output=True, text=True).stdout
    else:
        page.emulate_media(media="print")
        read = page.locator("body").inner_text()
        page.emulate_media(media="screen")
    return bare(read)


def bare(text: str) -> str:
    """Letters and figures alone: a reader of PDF guesses the spaces, and paper joins f and i to one sign."""
    return "".join(unicodedata.normalize("NFKC", text).split())
