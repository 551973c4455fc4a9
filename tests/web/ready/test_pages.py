"""Page, CSV, workbook and PDF show the same plants, number by number."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from html import unescape
from typing import Any

import pypdfium2
import pytest
from openpyxl import load_workbook
from sqlalchemy.orm import Session

from nursery.app import create_app
from nursery.config import Settings
from nursery.services.ready.query import TITLES, By
from tests.conftest import TODAY, Maker
from tests.databases import Kept
from tests.services.forecast.season_maker import Season
from tests.web.conftest import Browser

#: Columns that files have beside those of page and paper.
FILES_ONLY = {"Low (10 %)", "High (90 %)", "In quarantine", "Free and ready now"}


@pytest.fixture(scope="module")
def demo(demo_file: Kept, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """The demo season, only read."""
    folder = tmp_path_factory.mktemp("ready")
    settings = Settings(
        database_url=demo_file.copy(folder),
        data_dir=folder,
        secret_key="a secret for tests only",
        person="Ana Seabra",
    )
    app = create_app(settings, today=TODAY, testing=True)
    app.test_client_class = Browser
    client = app.test_client()
    assert isinstance(client, Browser)
    yield client
    app.extensions["nursery_sessions"].kw["bind"].dispose()


def plain(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html))).strip()


def rows_of(html: str, table_id: str) -> list[list[str]]:
    """Cells of a table as they are read, explanations left out."""
    table = re.search(rf'<table[^>]* id="{table_id}">.*?</table>', html, re.DOTALL)
    assert table, table_id
    kept = re.sub(r'<div class="explain-body".*?</details>', "</details>", table[0], flags=re.DOTALL)
    found = [
        re.findall(r"<t[hd][ >].*?</t[hd]>", row, re.DOTALL)
        for row in re.findall(r"<tr>.*?</tr>", kept, re.DOTALL)
    ]
    return [[plain(cell) for cell in row] for row in found]


def number(text: str) -> int:
    """The number that a cell begins with."""
    return int(re.match(r"[\d,]+", text)[0].replace(",", ""))  # type: ignore[index]


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def paper_of(client: Browser, address: str) -> str:
    """All text of the PDF, without spaces; feet of pages and repeated heads stay in it."""
    document = pypdfium2.PdfDocument(client.get(address).data)
    return squeezed("".join(page.get_textpage().get_text_range() for page in document))


def sheet_of(client: Browser, address: str, title: str) -> list[list[Any]]:
    book = load_workbook(io.BytesIO(client.get(address).data))
    return [list(row) for row in book[title].iter_rows(values_only=True)]


def shown(value: int, low: int, high: int, name: str) -> str:
    """A number as paper shows it."""
    spread = f" ({low:,} to {high:,})" if name == "Forecast" and low != high else ""
    return f"{value:,}{spread}"


@pytest.mark.parametrize("season", [2026, 2027])
@pytest.mark.parametrize("by", list(By))
def test_page_csv_workbook_and_paper_agree_to_the_plant(demo: Browser, by: By, season: int) -> None:
    asked = f"season={season}&by={by.value}"
    heads, *rows = sheet_of(demo, f"/ready.xlsx?{asked}", str(TITLES[by]))
    assert len(rows) > 1

    text = demo.get(f"/ready.csv?{asked}").text
    assert list(csv.reader(io.StringIO(text))) == [
        [str(head) for head in heads],
        *([_as_csv(cell) for cell in row] for row in rows[:-1]),
    ]

    page_heads, *page_rows = rows_of(demo.get(f"/ready?{asked}").text, "stock")
    compared = [head for head in page_heads if head in heads and head not in {"Batch", "Size grade", "Origin"}]
    compared = [head for head in compared if isinstance(rows[0][heads.index(head)], int)]
    assert {head for head in heads if isinstance(rows[0][heads.index(head)], int)} == {*compared, *FILES_ONLY}
    if len(page_rows) == len(rows) - 1:
        page_rows.append([])  # a single row needs no sums
    for row, shown_row in zip(rows, page_rows, strict=True):
        for head in compared if shown_row else ():
            assert number(shown_row[page_heads.index(head)]) == row[heads.index(head)], (row[0], head)
        if shown_row and row[heads.index("Low (10 %)")] != row[heads.index("High (90 %)")]:
            spread = f"{row[heads.index('Low (10 %)')]:,} to {row[heads.index('High (90 %)')]:,}"
            assert spread in shown_row[page_heads.index("Forecast")]

    paper = paper_of(demo, f"/ready.pdf?{asked}")
    columns = compared if by is not By.BATCH else ["Ready now", "Forecast", "Allocated", "Free"]
    for row in rows:
        low, high = row[heads.index("Low (10 %)")], row[heads.index("High (90 %)")]
        numbers = "".join(shown(row[heads.index(head)], low, high, head) for head in columns)
        name = row[0] if by is not By.BATCH or row[1] is None else _batch(row, heads)
        assert squeezed(f"{name}{numbers}") in paper, row


def _batch(row: list[Any], heads: list[str]) -> str:
    told = ", ".join(
        row[heads.index(name)] for name in ("Species", "Container", "Origin") if row[heads.index(name)]
    )
    return f"{row[0]}{told}{row[heads.index('Size grade')]}{row[heads.index('Planting site')]}"


def _as_csv(cell: Any) -> str:
    return "" if cell is None else cell.date().isoformat() if hasattr(cell, "date") else str(cell)


@pytest.mark.parametrize("season", [2026, 2027])
def test_the_weeks_and_what_is_not_sown_agree_too(demo: Browser, season: int) -> None:
    html, paper = demo.get(f"/ready?season={season}").text, paper_of(demo, f"/ready.pdf?season={season}")
    _heads, *weeks = sheet_of(demo, f"/ready.xlsx?season={season}", "By week")
    _heads, *page_weeks = rows_of(html, "weeks")
    assert len(weeks) > 10
    for week, on_page in zip(weeks, page_weeks, strict=True):
        name, _monday, gain, species, by_then, low, high, asked = week
        spread = f" ({low:,} to {high:,})" if low != high else ""
        assert on_page == [plain(name), f"{gain:,}", species or "", f"{by_then:,}{spread}", f"{asked:,}"]
        assert squeezed(f"{name}{gain:,}{species or ''}{by_then:,}{spread}{asked:,}") in paper
    _heads, *unsown = sheet_of(demo, f"/ready.xlsx?season={season}", "Not sown or short")
    _heads, *on_pages = rows_of(html, "unsown-table")
    assert unsown
    for row, cells in zip(unsown, on_pages, strict=True):
        assert cells[0] == f"{row[0]} {row[1]}"
        assert [number(cell) for cell in cells[2:7]] == row[4:]
        assert squeezed("".join(f"{plants:,}" for plants in row[4:])) in paper


def test_the_figures_at_the_top_are_the_sums_of_the_table(demo: Browser) -> None:
    html = demo.get("/ready").text
    heads, *_rows, total = rows_of(html, "stock")
    figures = {
        plain(label): plain(value)
        for value, label in re.findall(
            r'<div class="figure-value">(.*?)</div>\s*<p class="figure-label">(.*?)</p>', html, re.DOTALL
        )
    }
    assert {name: number(text) for name, text in figures.items()} == {
        name: number(total[heads.index(name)]) for name in figures
    }
    assert figures.keys() == {"Ready now", "Forecast", "Allocated", "Free", "Still to sow", "Short"}


def test_a_narrowed_paper_says_that_it_is_not_the_whole(demo: Browser) -> None:
    html = demo.get("/ready?season=2026").text
    value, name = re.findall(r'<option value="(\d+)">([A-Z]\w+ \w+)</option>', html)[0]
    paper = paper_of(demo, f"/ready.pdf?season=2026&species={value}")
    assert squeezed(f"Only {name}.") in paper


def test_without_anything_the_page_teaches_what_to_do(client: Browser) -> None:
    html = client.get("/ready").text
    assert "Write down first what is to be planted where." in plain(html)
    assert client.get("/ready.csv").status_code == client.get("/ready.pdf").status_code == 200
    assert client.get("/ready.xlsx").data[:2] == b"PK"


@pytest.mark.parametrize(
    "address",
    [
        "/ready?season=2040",
        "/ready?season=x&by=me&species=x&site=-1&nursery=%00&sort=--free&endpoint=x&_external=1",
        "/ready?season=99999999999999999999&site=99999999999999999999",
        "/ready.csv?by=batch&sort=name",
        "/ready.pdf?nursery=%3Cb%3E",
    ],
)
def test_nonsense_in_the_address_does_no_harm(demo: Browser, address: str) -> None:
    assert demo.get(address).status_code == 200


def test_a_column_sorts_one_way_and_then_the_other(demo: Browser) -> None:
    def free(address: str) -> list[int]:
        heads, *rows, _total = rows_of(demo.get(address).text, "stock")
        return [number(row[heads.index("Free")]) for row in rows]

    found = free("/ready?sort=-free")
    assert found == sorted(found, reverse=True)
    assert free("/ready?sort=free") == sorted(found)
    assert 'aria-sort="descending"' in demo.get("/ready?sort=-free").text


def test_the_page_costs_the_same_for_few_rows_and_for_many(
    client: Browser, session: Session, maker: Maker, count_queries: Callable[..., Any]
) -> None:
    season, counted = Season(session, maker), []
    for more in (1, 5):
        for _batch in range(more):
            season.sow(season.north, part=0.2)
            maker.target(season=2027)
        session.commit()
        sizes = []
        for path in ("/ready", "/ready?by=batch", "/ready.xlsx", "/ready.pdf"):
            with count_queries(client.application.extensions["nursery_sessions"].kw["bind"]) as statements:
                assert client.get(path).status_code == 200
            sizes.append(len(statements))
        counted.append(sizes)
    assert counted[0] == counted[1]
