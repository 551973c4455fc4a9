"""The look back as a page and as files: the same numbers, a page that teaches, a fixed number of queries."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from flask import Flask
from openpyxl import load_workbook
from sqlalchemy.orm import Session

from nursery.services.evidence import record_evidence
from tests.conftest import Maker
from tests.services.forecast.season_maker import ANA, Season
from tests.web.conftest import Browser

DAY = dt.date(2027, 12, 1)


def plain(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html))).strip()


def rows_of(html: str, table_id: str) -> list[list[str]]:
    table = re.search(rf'<table[^>]* id="{table_id}">.*?</table>', html, re.DOTALL)
    assert table, table_id
    body = table[0][table[0].index("<tbody>") :]
    rows = re.findall(r"<tr>.*?</tr>", body, re.DOTALL)
    return [[plain(cell) for cell in re.findall(r"<t[hd][ >].*?</t[hd]>", row, re.DOTALL)] for row in rows]


@pytest.fixture
def season(session: Session, maker: Maker, app: Flask) -> Season:
    made = Season(session, maker)
    session.commit()
    app.config["NURSERY_TODAY"] = DAY
    return made


def seen(season: Season, rate: str, successes: int) -> None:
    values = {
        "part": "seed", "rate": rate, "successes": successes, "trials": 1000, "happened_on": dt.date(2027, 5, 1),
        "source": "tray count",
    }  # fmt: skip
    record_evidence(season.session, ANA, species=season.north.species.key, values=values, today=DAY)
    season.session.commit()


def test_without_a_plan_and_without_anything_seen_the_page_teaches(client: Browser, season: Season) -> None:
    assert "Nothing was seen of 2027/28 yet" in plain(client.get("/next-year").text)
    assert "Count each batch when it has come up" in plain(client.get("/next-year").text)
    assert client.get("/next-year.xlsx").data[:2] == b"PK"


def test_before_the_first_plan_it_says_where_to_begin(client: Browser) -> None:
    assert "No season to look back at yet" in plain(client.get("/next-year").text)
    assert len(client.get("/next-year.csv").text.splitlines()) == 1


def test_page_csv_and_workbook_show_the_same(client: Browser, season: Season) -> None:
    seen(season, "emergence", 400)
    seen(season, "hardening", 700)
    html = client.get("/next-year").text
    shown = rows_of(html, "errors")
    lines = list(csv.DictReader(io.StringIO(client.get("/next-year.csv").text)))
    book = load_workbook(io.BytesIO(client.get("/next-year.xlsx").data))
    heads, *rows = [list(row) for row in book["Rates"].iter_rows(values_only=True)]
    assert len(shown) == len(lines) == len(rows) == 2
    for cells, line, row in zip(shown, lines, rows, strict=True):
        named = dict(zip(heads, row, strict=True))
        assert cells[0] == f"{named['Species']} {named['Rate']}"
        plants = named["Plants more or fewer"]
        assert cells[1] == f"{-plants:,} plants fewer of {named['Of plants expected']:,} expected"
        assert cells[2].startswith(f"{named['Seen']:.0%} ".replace("%", " %").replace("  ", " "))
        assert f"{named['Successes']:,.0f} of {named['Trials']:,.0f}" in cells[2]
        numbers = {str(head): value for head, value in named.items() if isinstance(value, int | float)}
        # A workbook keeps 15 figures of a number.
        assert {head: float(line[head]) for head in numbers} == pytest.approx(numbers, rel=1e-14)
    heads, *rows = [list(row) for row in book["Next sowing"].iter_rows(values_only=True)]
    (cells,), (row,) = rows_of(html, "sowing"), rows
    named = dict(zip(heads, row, strict=True))
    assert cells == [
        named["Species"],
        *(
            f"{named[head]:,}"
            for head in (
                "Targets", "Ready plants, by today’s rates", "Trays, by the plan’s rates",
                "Trays, by today’s rates", "Seeds, by the plan’s rates", "Seeds, by today’s rates",
            )
        ),
        named["Seeds per cell, by the plan’s rates"], named["Seeds per cell, by today’s rates"],
    ]  # fmt: skip
    assert str(named["Why"]).startswith("Most of all because of")


def test_species_and_stage_narrow_the_list(client: Browser, season: Season) -> None:
    seen(season, "emergence", 400)
    seen(season, "hardening", 700)
    assert [row[0] for row in rows_of(client.get("/next-year?rate=hardening").text, "errors")] == [
        "Quercus suber Hardening"
    ]
    assert "Nothing fits." in client.get("/next-year?species=alnus-glutinosa").text
    assert len(client.get("/next-year.csv?rate=hardening").text.splitlines()) == 2


@pytest.mark.parametrize(
    "address",
    [
        "/next-year?season=x&species=%00&rate=me",
        "/next-year?season=99999999999999999999",
        "/next-year.csv?season=-1",
    ],
)
def test_nonsense_in_the_address_does_no_harm(client: Browser, season: Season, address: str) -> None:
    seen(season, "emergence", 400)
    assert client.get(address).status_code == 200


def test_the_page_costs_the_same_for_one_rate_and_for_many(
    client: Browser, season: Season, count_queries: Callable[..., Any]
) -> None:
    counted = []
    for rates in (("emergence",), ("hardening", "cull", "establishment")):
        for rate in rates:
            seen(season, rate, 500)
        sizes = []
        for path in ("/next-year", "/next-year.csv", "/next-year.xlsx"):
            with count_queries(client.application.extensions["nursery_sessions"].kw["bind"]) as statements:
                assert client.get(path).status_code == 200
            sizes.append(len(statements))
        counted.append(sizes)
    assert counted[0] == counted[1]
