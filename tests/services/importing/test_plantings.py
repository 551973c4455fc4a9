"""Plantings from a file: known again by site, lot and day; hours and days that cannot be are refused."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Dispatch, DispatchLine, Planting, Site
from nursery.models.dispatches import DispatchStatus

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


GROWN = "site,lot,batch,load,planted on,plants\n"


@pytest.fixture
def load(session: Session, maker: Any, lot: Any) -> DispatchLine:
    """Eighty plants of a batch of the lot that arrived at the first site, and a batch of another lot."""
    batch = maker.batch(lot=lot, code="B26-001")
    maker.batch(lot=maker.lot(code="Q/8"), code="B26-002")
    site = session.scalars(select(Site).where(Site.code == "S-1")).one()
    day = dt.date(2026, 11, 18)
    sent = Dispatch(
        code="D26-001", site_id=site.id, status=DispatchStatus.RECEIVED, planned_on=day, sent_on=day,
        received_on=day, received_by="Noa",
    )  # fmt: skip
    sent.lines = [DispatchLine(position=1, batch_id=batch.id, plants=100, sent=90, received=80)]
    session.add_all([sent, Dispatch(code="D26-002", site_id=site.id, planned_on=day)])
    session.commit()
    return sent.lines[0]


def test_a_planting_from_a_file_comes_by_its_load_and_of_its_batch(
    desk: Any, session: Session, load: DispatchLine
) -> None:
    file = GROWN + "S-1,Q/7,,D26-001,2026-11-20,50\nS-1,Q/7,B26-001,d26-001,2026-11-21,30\n"

    desk.bring("plantings", file)
    again = desk.look("plantings", file)

    rows = session.scalars(select(Planting).order_by(Planting.id)).all()
    assert [(row.plants, row.batch_id, row.dispatch_line_id) for row in rows] == [
        (50, load.batch_id, load.id), (30, load.batch_id, load.id),
    ]  # fmt: skip
    assert (again.writes, again.unchanged, again.refused) == ([], 2, 0)


@pytest.mark.parametrize(
    ("row", "column", "value", "reason"),
    [
        ("S-1,Q/7,B26-009,,2026-11-20,9", "batch", "B26-009", "There is no “B26-009” on record. Did you mean"),
        ("S-1,Q/7,B26-002,,2026-11-20,9", "batch", "B26-002", "This batch holds no plants of the lot"),
        ("S-1,Q/7,,D26-009,2026-11-20,9", "load", "D26-009", "There is no “D26-009” on record. Did you mean"),
        ("S-1,Q/7,,D26-002,2026-11-20,9", "load", "D26-002", "This load holds no plants."),
        ("S-1,Q/8,,D26-001,2026-11-20,9", "load", "D26-001", "This load brought B26-001, not the plants"),
        ("S-2,Q/7,,D26-001,2026-11-20,9", "load", "D26-001", "Load D26-001 went to another site. Correct"),
        ("S-1,Q/7,,D26-001,2026-11-17,9", "planted on", "2026-11-17", "17 Nov 2026 is before load D26-001"),
        ("S-1,Q/7,,D26-001,2026-11-20,81", "plants", "81", "Of load D26-001, 80 plants of B26-001 are left"),
    ],
)  # fmt: skip
def test_a_batch_or_load_that_cannot_be_is_refused_with_its_cell(
    desk: Any, load: DispatchLine, row: str, column: str, value: str, reason: str
) -> None:
    ((number, named, cell, said),) = desk.reasons("plantings", GROWN + row + "\n")

    assert (number, named, cell, said[: len(reason)]) == (2, column, value, reason)


def test_plants_of_a_lot_and_a_batch_that_are_put_aside_by_now_are_taken(
    desk: Any, session: Session, load: DispatchLine, lot: Any
) -> None:
    lot.archived_at = load.batch.archived_at = dt.datetime(2026, 11, 19, tzinfo=dt.UTC)
    session.commit()

    desk.bring("plantings", GROWN + "S-1,Q/7,B26-001,D26-001,2026-11-20,50\n")

    assert [(row.lot_id, row.batch_id) for row in session.scalars(select(Planting))] == [(lot.id, load.batch_id)]


def test_a_lot_that_is_not_known_is_the_only_fault_told_of_its_row(desk: Any, load: DispatchLine) -> None:
    found = desk.reasons("plantings", GROWN + "S-1,NOPE,B26-001,D26-001,2026-11-20,50\n")

    assert [(column, value) for _row, column, value, _said in found] == [("lot", "NOPE")]


def test_rows_of_a_file_share_what_is_left_of_a_load(desk: Any, session: Session, load: DispatchLine) -> None:
    file = GROWN + "S-1,Q/7,,D26-001,2026-11-20,50\nS-1,Q/7,,D26-001,2026-11-21,31\n"

    ((number, column, value, said),) = desk.reasons("plantings", file)

    assert (number, column, value) == (3, "plants", "31")
    assert said.startswith("Of load D26-001, 30 plants of B26-001 are left to be planted.")


def test_a_planting_on_record_without_its_batch_is_not_written_twice(desk: Any, load: DispatchLine) -> None:
    desk.bring("plantings", HEAD + "S-1,Q/7,2026-11-20,80,,,,,\n")

    ((number, column, _value, said),) = desk.reasons("plantings", GROWN + "S-1,Q/7,B26-001,,2026-11-20,80\n")

    assert (number, column) == (2, "batch")
    assert said.startswith("A planting of this lot at this site on this day is on record without a batch.")


def test_a_planting_keeps_its_batch_and_load_where_a_row_leaves_them_out(
    desk: Any, session: Session, load: DispatchLine
) -> None:
    desk.bring("plantings", GROWN + "S-1,Q/7,,D26-001,2026-11-20,50\n")
    desk.bring("plantings", HEAD + "S-1,Q/7,2026-11-20,55,,Noa,,,\n")

    ((plants, line_id, people),) = session.execute(
        select(Planting.plants, Planting.dispatch_line_id, Planting.people)
    ).all()
    assert (plants, line_id, people) == (55, load.id, "Noa")
