"""What all lists of records share, seen through their pages."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from flask import Flask
from openpyxl import load_workbook
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.models.types import utc_now
from tests.web.conftest import Browser

Counter = Callable[[Engine], AbstractContextManager[list[str]]]
#: Rows, count, and one query a filter; where populations lie on the map takes two more, zones and places.
QUERIES = {"populations": 7, "trips": 3, "lots": 7, "storage": 2}


def make(noun: str, maker: Any, number: int) -> None:
    trip, place = maker.trip(), maker.place()
    for _each in range(number - 1 if noun in {"trips", "storage"} else 0):
        maker.trip()
        maker.place()
    if noun in {"populations", "lots"}:
        for _each in range(number):
            maker.lot(trip_id=trip.id, storage_place_id=place.id)


@pytest.mark.parametrize("number", [1, 3])
@pytest.mark.parametrize("noun", QUERIES)
def test_a_list_costs_as_many_queries_for_three_rows_as_for_one(
    app: Flask, client: Any, session: Session, maker: Any, count_queries: Counter, noun: str, number: int
) -> None:
    make(noun, maker, number)
    session.commit()

    with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as statements:
        page = client.get(f"/{noun}")

    assert len(re.findall(r'<th scope="row">', page.text)) == number
    assert len(statements) == QUERIES[noun]


@pytest.mark.parametrize("noun", QUERIES)
def test_an_empty_list_says_what_to_do_first(client: Any, noun: str) -> None:
    page = client.get(f"/{noun}")

    assert page.status_code == 200
    assert f'href="/{noun}/new"' in page.text
    assert "<table" not in page.text


@pytest.mark.parametrize("noun", QUERIES)
def test_a_search_that_finds_nothing_says_so_and_leads_back(
    client: Any, session: Session, maker: Any, noun: str
) -> None:
    make(noun, maker, 1)
    session.commit()

    page = client.get(f"/{noun}?q=zzzz")

    assert "Nothing fits. Change the search or show all." in page.text
    assert f'href="/{noun}"' in page.text
    assert 'value="zzzz"' in page.text


def test_pages_lead_to_the_next_and_back_keeping_what_was_asked(client: Any, session: Session, maker: Any) -> None:
    for number in range(120):
        maker.population(name=f"Azenha {number:03d}", basin="Ribeira Clara")
    maker.population(name="Moinho")
    session.commit()

    def codes(html: str) -> list[str]:
        return re.findall(r'<th scope="row">.*?>(P-\d+)<', html)

    def link(html: str, rel: str) -> str | None:
        found = re.search(rf'rel="{rel}" href="([^"]+)"', html)
        return found[1].replace("&amp;", "&") if found else None

    first = client.get("/populations?q=azenha&sort=-name&basin=Ribeira+Clara").text
    second = client.get(link(first, "next")).text
    third = client.get(link(second, "next")).text
    back = client.get(link(second, "prev")).text

    assert [len(codes(page)) for page in (first, second, third)] == [50, 50, 20]
    assert codes(first) + codes(second) + codes(third) == [f"P-{number:03d}" for number in range(120, 0, -1)]
    assert codes(back) == codes(first)
    assert (link(first, "prev"), link(third, "next")) == (None, None)
    assert "120 records" in first


def test_headings_sort_and_turn_round(client: Any, session: Session, maker: Any) -> None:
    maker.population()
    session.commit()

    plain = client.get("/populations").text
    turned = client.get("/populations?sort=name").text

    assert '<a href="/populations?sort=name">Name</a>' in plain
    assert 'aria-sort="ascending"><a href="/populations?sort=-code">Code' in plain
    assert 'aria-sort="ascending"><a href="/populations?sort=-name">Name' in turned


@pytest.mark.parametrize(
    "asked",
    [
        "sort=nothing",
        "sort=-",
        "after=%00",
        "before=zz&after=zz",
        "archived=perhaps",
        "species=%27%3B--",
        "q=%25%5C%00",
    ],
)
def test_nonsense_in_the_address_harms_nothing(client: Any, session: Session, maker: Any, asked: str) -> None:
    maker.population()
    session.commit()

    assert client.get(f"/populations?{asked}").status_code == 200


def test_archived_records_are_marked_where_all_are_shown(client: Any, session: Session, maker: Any) -> None:
    maker.population(archived_at=utc_now())
    maker.population()
    session.commit()

    def rows(archived: str) -> list[str]:
        return re.findall(
            r'<th scope="row">.*?</th>', client.get(f"/populations?archived={archived}").text, re.DOTALL
        )

    assert [len(rows(archived)) for archived in ("no", "yes", "all")] == [1, 1, 2]
    assert ["Archived" in row for row in rows("all")] == [True, False]


def test_a_text_with_markup_is_shown_as_typed(client: Any, session: Session, maker: Any) -> None:
    maker.population(name="<script>alert(1)</script>")
    session.commit()

    page = client.get("/populations").text

    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


def test_an_export_is_the_list_as_filtered_and_sorted(client: Any, session: Session, maker: Any) -> None:
    for name in ("Azenha", "Moinho", "=1+1"):
        maker.lot(population=maker.population(name=name), germination=0.855, tested_on=dt.date(2026, 11, 1))
    session.commit()

    answer = client.get("/lots.csv?sort=-population&q=l")
    rows = list(csv.DictReader(io.StringIO(answer.text, newline="")))

    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="Lots 2026-11-25.csv"'
    assert [row["Population"] for row in rows] == ["Moinho", "Azenha", "'=1+1"]
    assert {(row["Germination"], row["Tested on"], row["Amount (g)"], row["Ripening year"]) for row in rows} == {
        ("0.855", "2026-11-01", "500.0", "2026")
    }
    assert client.get("/lots.csv?q=moinho&bom=1").data.startswith(b"\xef\xbb\xbfCode,")


@pytest.mark.parametrize("noun", QUERIES)
def test_every_list_exports_to_both_formats(client: Any, session: Session, maker: Any, noun: str) -> None:
    make(noun, maker, 3)
    session.commit()

    lines = list(csv.reader(io.StringIO(client.get(f"/{noun}.csv").text, newline="")))
    sheet = load_workbook(io.BytesIO(client.get(f"/{noun}.xlsx").data)).worksheets[0]

    assert len(lines) == sheet.max_row == 4
    assert [cell.value for cell in sheet[1]] == lines[0]


def test_an_export_to_an_unknown_format_is_not_found(client: Any) -> None:
    assert client.get("/lots.exe").status_code == 404


def test_a_list_seen_again_costs_only_its_rows_until_something_changes(
    app: Flask, client: Browser, session: Session, maker: Any, count_queries: Counter
) -> None:
    maker.lot()
    session.commit()
    assert client.submit("/storage/new", {"name": "Cellar", "kind": "cellar"}).status_code == 303

    def asked() -> int:
        with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as statements:
            client.get("/lots")
        return len(statements)

    before = [asked(), asked(), asked()]
    assert client.submit("/storage/new", {"name": "Loft", "kind": "cellar"}).status_code == 303

    assert before == [QUERIES["lots"], 1, 1]
    assert [asked(), asked()] == [QUERIES["lots"], 1]


def test_filters_and_the_count_follow_the_records_at_once(client: Browser, session: Session, maker: Any) -> None:
    session.commit()

    def seen() -> tuple[list[str], list[str]]:
        page = client.get("/lots?archived=all").text
        found = re.search(r'<select id="filter-storage".*?</select>', page, re.DOTALL)
        return re.findall(r"<option[^>]*>([^<]+)</option>", found[0] if found else ""), re.findall(
            r"[\d,]+ records?", page
        )

    for name in ("Cellar", "Loft"):
        assert client.submit("/storage/new", {"name": name, "kind": "cellar"}).status_code == 303
        assert seen()[0] == ["Any", "Cellar", "Loft"][: 2 + (name == "Loft")]
    maker.lot()
    session.commit()  # behind the product's back: seen with the next change that is noted
    assert (
        client.submit("/storage/1/edit", {"name": "Cold cellar", "kind": "cellar", "version": "1"}).status_code
        == 303
    )

    assert seen() == (["Any", "Cold cellar", "Loft"], ["1 record"])
