"""Plantings from a file: known again by site, lot and day; hours and days that cannot be are refused."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Planting

HEAD = "site,lot,planted on,plants,replacement,who planted,volunteers,hours,ground planted (m²)\n"


@pytest.fixture
def lot(desk: Any, basin: None, session: Session, maker: Any) -> Any:
    lot = maker.lot(code="Q/7")
    session.commit()
    return lot


def test_a_file_of_plantings_is_written_once(desk: Any, session: Session, lot: Any) -> None:
    file = HEAD + (
        "S-1,Q/7,2026-11-20,120,,Inês and Noa,0,14.5,400\n"
        "S-1,Q/7,2026-11-20,15,yes,,,,\n"
    )  # fmt: skip

    desk.bring("plantings", file)
    again = desk.look("plantings", file)

    assert (again.writes, again.unchanged, again.refused) == ([], 2, 0)
    rows = session.scalars(select(Planting).order_by(Planting.id)).all()
    assert [(row.plants, row.is_replacement, row.people, row.hours, row.area_m2) for row in rows] == [
        (120, False, "Inês and Noa", 14.5, 400.0), (15, True, "", None, None),
    ]  # fmt: skip


def test_a_changed_cell_changes_the_planting(desk: Any, session: Session, lot: Any) -> None:
    desk.bring("plantings", HEAD + "S-1,Q/7,2026-11-20,120,,,,,\n")
    desk.bring("plantings", HEAD + "S-1,Q/7,2026-11-20,125,no,,,,\n")

    assert [row.plants for row in session.scalars(select(Planting))] == [125]


@pytest.mark.parametrize(
    ("row", "column", "reason"),
    [
        ("S-1,Q/7,2026-11-20,120,,Inês,,24.5,", "hours", "24.5 hours are more than 24 for 1 person."),
        ("S-1,Q/7,2026-11-20,120,,,,30,", "hours", "30 hours in one day are those of several people."),
        ("S-1,Q/7,2026-11-26,120,,,,,", "planted on", "26 Nov 2026 is still to come."),
        ("S-1,Q/7,2026-10-01,120,,,,,", "planted on", "1 Oct 2026 is before lot Q/7 was collected"),
        ("S-1,Q/9,2026-11-20,120,,,,,", "lot", "There is no “Q/9” on record. Did you mean Q/7"),
        ("S-1,Q/7,2026-11-20,0,,,,,", "plants", "0 is out of range."),
        ("S-1,Q/7,2026-11-20,120,,,,,0", "ground planted (m²)", "0 is out of range."),
    ],
)
def test_a_bad_planting_is_refused(desk: Any, lot: Any, row: str, column: str, reason: str) -> None:
    ((number, named, _value, said),) = desk.reasons("plantings", HEAD + row + "\n")

    assert (number, named, said[: len(reason)]) == (2, column, reason)
