"""Lists: every row once in either direction, whatever is sorted by, and never a query more for more rows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.models import Lot, Population
from nursery.models.types import utc_now
from nursery.services.listing import ListQuery, export_rows, read_page
from nursery.services.lots import LISTING as LOTS
from nursery.services.populations import LISTING as POPULATIONS

Counter = Callable[[Engine], AbstractContextManager[list[str]]]


@pytest.fixture
def populations(session: Session, maker: Any) -> list[Population]:
    """Eleven stands with ties, capitals and missing values in every column."""
    species = [maker.species(key) for key in ("quercus-suber", "quercus-ilex", "salix-salviifolia")]
    return [
        maker.population(
            name=("azenha", "Azenha", "Barroca")[number % 3],
            species=species[number % 3],
            basin=("", "Ribeira Clara")[number % 2],
            elevation_m=(None, 200.0, 450.5, None)[number % 4],
            fruiting_plants=(None, 30)[number % 2],
        )
        for number in range(11)
    ]


def walk(session: Session, sort: str, size: int = 3) -> tuple[list[list[int]], list[list[int]]]:
    """Ids page by page from the first to the last, and back again."""
    page = read_page(session, POPULATIONS, ListQuery(sort=sort), size=size)
    forth, back = [[row.id for row in page.rows]], []
    while page.after:
        page = read_page(session, POPULATIONS, ListQuery(sort=sort, after=page.after), size=size)
        forth.append([row.id for row in page.rows])
    while page.before:
        page = read_page(session, POPULATIONS, ListQuery(sort=sort, before=page.before), size=size)
        back.append([row.id for row in page.rows])
    return forth, back


@pytest.mark.parametrize("descending", ["", "-"])
@pytest.mark.parametrize("key", [column.key for column in POPULATIONS.columns])
def test_a_walk_through_the_pages_meets_every_row_once_in_both_directions(
    session: Session, populations: list[Population], key: str, descending: str
) -> None:
    whole = [row.id for row in export_rows(session, POPULATIONS, ListQuery(sort=descending + key))]

    forth, back = walk(session, descending + key)

    assert sorted(whole) == sorted(row.id for row in populations)
    assert [row_id for page in forth for row_id in page] == whole
    assert back == forth[-2::-1]


@pytest.mark.parametrize("sort", ["elevation", "-elevation"])
def test_rows_without_a_value_come_last_in_both_directions(
    session: Session, populations: list[Population], sort: str
) -> None:
    values = [row.elevation for row in export_rows(session, POPULATIONS, ListQuery(sort=sort))]

    given = [value for value in values if value is not None]

    assert values[len(given) :] == [None] * 5
    assert given == sorted(given, reverse=sort.startswith("-"))


def test_blanks_come_last_too(session: Session, populations: list[Population]) -> None:
    for sort in ("basin", "-basin"):
        basins = [row.basin for row in export_rows(session, POPULATIONS, ListQuery(sort=sort))]

        assert basins == ["Ribeira Clara"] * 5 + [""] * 6


def test_names_sort_without_regard_to_capitals(session: Session, populations: list[Population]) -> None:
    names = [row.name for row in export_rows(session, POPULATIONS, ListQuery(sort="name"))]

    assert [name.lower() for name in names] == ["azenha"] * 8 + ["barroca"] * 3


@pytest.mark.parametrize(
    ("word", "found"),
    [
        ("P-003", 1),
        ("p-003", 1),
        ("clara", 5),
        ("barroca clara", 1),
        ("sobreiro", 4),
        ("holm oak", 4),
        ("SALVIIFOLIA", 3),
        ("%", 0),
        ("_", 0),
        ("no such thing", 0),
        ("\0", 11),
    ],
)
def test_the_search_takes_codes_names_and_any_name_of_a_species(
    session: Session, populations: list[Population], word: str, found: int
) -> None:
    page = read_page(session, POPULATIONS, ListQuery(q=word))

    assert len(page.rows) == page.total == found


def test_the_search_finds_accented_capitals_by_small_letters(session: Session, maker: Any) -> None:
    maker.population(name="Évora Velha")

    assert read_page(session, POPULATIONS, ListQuery(q="évora")).total == 1


def test_filters_narrow_the_list_and_nonsense_in_them_is_passed_over(
    session: Session, populations: list[Population]
) -> None:
    def total(**filters: str) -> int | None:
        return read_page(session, POPULATIONS, ListQuery(filters=filters)).total

    assert total(species="quercus-ilex") == 4
    assert total(species="quercus-ilex", basin="Ribeira Clara") == 2
    assert total(status="unknown") == 11
    assert total(status="no such status") == 11


def test_a_filter_too_large_for_the_database_is_passed_over(session: Session, maker: Any) -> None:
    maker.lot(ripening_year=2025)
    maker.lot(ripening_year=2026)

    def total(year: str) -> int | None:
        return read_page(session, LOTS, ListQuery(filters={"ripening_year": year})).total

    assert [total("2025"), total("9" * 30), total("")] == [1, 2, 2]


def test_archived_records_show_only_when_asked_for(session: Session, populations: list[Population]) -> None:
    populations[0].archived_at = utc_now()
    session.flush()

    totals = [
        read_page(session, POPULATIONS, ListQuery(archived="no")).total,
        read_page(session, POPULATIONS, ListQuery(archived="yes")).total,
        read_page(session, POPULATIONS, ListQuery(archived="all")).total,
    ]

    assert totals == [10, 1, 11]


@pytest.mark.parametrize(
    "cursor",
    [
        "?",
        "bm8",
        "W10",  # []
        "WyJhIiwgMV0",  # ["a", 1] against a number
        "W05hTiwgMV0",  # [NaN, 1]
        "WzEsICIxIl0",  # [1, "1"]
        "WzEsIDk5OTk5OTk5OTk5OTk5OTk5OTk5XQ",  # [1, 99999999999999999999]
        "WzEsIHRydWVd",  # [1, true]
        "é",
    ],
)
def test_a_cursor_that_makes_no_sense_gives_the_first_page(
    session: Session, populations: list[Population], cursor: str
) -> None:
    first = read_page(session, POPULATIONS, ListQuery(sort="elevation"), size=4)

    for query in (ListQuery(sort="elevation", after=cursor), ListQuery(sort="elevation", before=cursor)):
        assert [row.id for row in read_page(session, POPULATIONS, query, size=4).rows] == [
            row.id for row in first.rows
        ]


def test_a_cursor_beyond_the_end_begins_again(session: Session, populations: list[Population]) -> None:
    first = read_page(session, POPULATIONS, ListQuery(sort="code"), size=10)
    for row in populations[10:]:
        session.delete(row)
    session.flush()

    again = read_page(session, POPULATIONS, ListQuery(sort="code", after=first.after), size=10)

    assert [row.id for row in again.rows] == [row.id for row in first.rows]


@pytest.mark.parametrize("number", [1, 3])
def test_a_page_costs_two_queries_however_many_rows(
    session: Session, engine: Engine, maker: Any, count_queries: Counter, number: int
) -> None:
    trip, place = maker.trip(), maker.place()
    for _each in range(number):
        maker.lot(trip_id=trip.id, storage_place_id=place.id)

    with count_queries(engine) as statements:
        page = read_page(session, LOTS, ListQuery(q="azenha", filters={"species": "quercus-suber"}))

    assert (len(page.rows), len(statements)) == (number, 2)


def test_a_list_can_be_narrowed_for_good(session: Session, maker: Any) -> None:
    trip = maker.trip()
    maker.lot()
    lot = maker.lot(trip_id=trip.id, collected_on=dt.date(2026, 10, 20))

    page = read_page(session, LOTS, ListQuery(), where=(Lot.trip_id == trip.id,))

    assert [row.id for row in page.rows] == [lot.id]
    assert page.total == 1
