"""Climate normals from a table: understood, refused by row and column, written all or none."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Change, Upload
from nursery.models.climates import Climate, Period
from nursery.services.climates import keep_climate_file, look_at_climates, normals_of, write_climates

HEAD = "place code,kind,period,mean_annual_c,annual_rain_mm,summer_rain_mm,coldest_month_min_c,source\n"


def kept(session: Session, text: str, name: str = "normals.csv") -> Upload:
    return keep_climate_file(session, "Ana Seabra", file_name=name, content=text.encode())


def written(session: Session, text: str, today: dt.date) -> tuple[int, int, int]:
    found = write_climates(session, "Ana Seabra", upload=kept(session, text), today=today)
    return found.new, found.changed, found.unchanged


def test_a_table_is_written_and_read_again_without_change(session: Session, maker: Any, today: dt.date) -> None:
    stand, site = maker.population(code="P-1"), maker.site(code="S-1")
    text = HEAD + (
        "p-1,population,present,15.4,560,45,2.1,normals 1991–2020\n"
        "S-1,site,present,16,480,,,\nS-1,site,expected,17.9,410,,,scenario\n"
    )

    assert written(session, text, today) == (3, 0, 0)

    assert [(row[3], row[4], row[5]) for row in normals_of(session, site).rows] == [
        (16, 17.9, pytest.approx(1.9)), (480, 410, -70), (None, None, None), (None, None, None)
    ]  # fmt: skip
    own = normals_of(session, stand)
    assert own.present is not None
    assert (own.present.source, own.present.summer_rain_mm, own.expected) == ("normals 1991–2020", 45, None)
    again = look_at_climates(session, content=text.encode(), today=today)
    assert (again.new, again.changed, again.unchanged) == (0, 0, 3)


def test_a_changed_value_is_noted_and_an_empty_cell_changes_nothing(
    session: Session, maker: Any, today: dt.date
) -> None:
    maker.site(code="S-1")
    written(session, HEAD + "S-1,site,present,16,480,30,3,first\n", today)

    assert written(session, HEAD + "S-1,site,present,16.5,,,,\n", today) == (0, 1, 0)

    row = session.scalars(select(Climate)).one()
    assert (row.period, row.mean_annual_c, row.annual_rain_mm, row.source) == (Period.PRESENT, 16.5, 480, "first")
    last = session.scalars(select(Change).where(Change.subject == "climates").order_by(Change.id.desc())).first()
    assert last is not None
    assert last.details == {"mean_annual_c": [16.0, 16.5], "file_name": [None, "normals.csv"]}


def test_faults_are_told_by_row_and_column_and_nothing_is_written(
    session: Session, maker: Any, today: dt.date
) -> None:
    maker.site(code="S-1")
    text = HEAD + (
        "S-9,site,present,16,480,30,3,\n"
        "S-1,garden,present,16,480,30,3,\n"
        "S-1,site,present,warm,480,30,3,\n"
        "S-1,site,expected,16,480,600,18,\n"
        "S-1,site,expected,,,,,\n"
        "S-1,,present,400,480,30,3,\n"
    )
    upload = kept(session, text)

    found = look_at_climates(session, content=upload.content, today=today)

    assert (found.refused, found.writes) == (6, [])
    assert [(one.row, one.column, one.reason) for one in found.findings if one.row != 4] == [
        (2, "place code", "There is no “S-9” on record. Did you mean S-1?"),
        (3, "kind", "“garden” is none of the words expected here. Write one of: population, site."),
        (
            5,
            "summer_rain_mm",
            "More rain in summer (600 mm) than in the whole year (480 mm). Correct one of them.",
        ),
        (
            5,
            "coldest_month_min_c",
            "The coldest month (18 °C) is warmer than the year (16 °C). Correct one of them.",
        ),
        (6, "", "Row 5 is about the same place and period. Keep one."),
        (6, "mean_annual_c", "The row has no value. Fill one in, or leave the row out."),
        (7, "mean_annual_c", "400 is out of range. Give a number from -60 to 40."),
        (7, "kind", "Kind is missing. A new record needs it."),
    ]
    assert [(one.column, one.value) for one in found.findings if one.row == 4] == [("mean_annual_c", "warm")]
    with pytest.raises(Conflict, match="Some rows cannot be taken, so nothing was written"):
        write_climates(session, "Ana Seabra", upload=upload, today=today)
    assert session.scalars(select(Climate)).all() == []


def test_only_what_was_seen_is_written(session: Session, maker: Any, today: dt.date) -> None:
    maker.site(code="S-1")
    upload = kept(session, HEAD + "S-1,site,present,16,480,30,3,\n")

    with pytest.raises(Conflict, match="The records changed since you looked"):
        write_climates(session, "Ana Seabra", upload=upload, today=today, seen="something else")


def test_headings_in_portuguese_and_spanish_are_understood(session: Session, maker: Any, today: dt.date) -> None:
    maker.site(code="S-1")
    text = "código;tipo;período;temperatura média anual;precipitação anual\nS-1;local;presente;16,4;480\n"

    found = look_at_climates(session, content=text.encode(), today=today)

    assert found.mapping == ("place_code", "kind", "period", "mean_annual_c", "annual_rain_mm")
    assert [values["mean_annual_c"] for _known, values in found.writes] == [16.4]


def test_a_file_without_rows_is_not_kept(session: Session) -> None:
    with pytest.raises(Invalid) as refused:
        kept(session, HEAD)
    assert refused.value.errors == {"file": "The file has headings but no rows. Fill in at least one row."}
