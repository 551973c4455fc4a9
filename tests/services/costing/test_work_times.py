"""Hours worked, on record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Change, WorkTime
from nursery.planning.work.words import Job
from nursery.services.costing.work_times import log_hours, withdraw_hours
from nursery.services.people import create_person

TODAY = dt.date(2027, 3, 3)
VALUES = {"worked_on": TODAY, "job": Job.SOW, "hours": 4.5}


def test_hours_are_written_down_with_who_wrote_them(session: Session) -> None:
    row = log_hours(session, "Ana", values=VALUES, today=TODAY)
    assert (row.job, row.hours, row.person, row.withdrawn_at) == (Job.SOW, 4.5, "Ana", None)
    assert session.scalars(select(Change.action)).all() == ["created"]


def test_hours_of_a_task_are_of_its_batch(session: Session, make_task: Callable[..., Any], maker: Any) -> None:
    batch = maker.batch()
    task = make_task(Job.SOW, "2027-03-02", 4, batch_id=batch.id)
    row = log_hours(session, "Ana", values={**VALUES, "task_id": task.id}, today=TODAY)
    assert row.batch_id == batch.id


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("hours", 0.0),
        ("hours", 1001.0),
        ("worked_on", dt.date(2027, 3, 4)),
        ("worked_on", dt.date(1927, 3, 3)),
    ],
)
def test_what_cannot_have_been_worked_is_refused(session: Session, field: str, value: Any) -> None:
    with pytest.raises(Invalid) as refused:
        log_hours(session, "Ana", values={**VALUES, field: value}, today=TODAY)
    assert list(refused.value.errors) == [field]


def test_a_wrong_entry_is_withdrawn_with_a_reason_and_stays_on_record(session: Session) -> None:
    row = log_hours(session, "Ana", values=VALUES, today=TODAY)
    with pytest.raises(Invalid):
        withdraw_hours(session, "Rui", row=row, reason=" ")
    withdraw_hours(session, "Rui", row=row, reason="was Monday’s")
    kept = session.scalars(select(WorkTime)).one()
    assert (kept.withdrawn_by, kept.withdrawn_reason, kept.hours) == ("Rui", "was Monday’s", 4.5)
    with pytest.raises(Conflict):
        withdraw_hours(session, "Rui", row=row, reason="twice")


def test_a_named_person_works_no_more_than_a_day_has(session: Session, maker: Any) -> None:
    rui = create_person(session, "Ana", values={"name": "Rui Vale", "hours_per_week": 35.0}, today=TODAY)
    session.flush()
    mine = {**VALUES, "worker_id": rui.id}
    first = log_hours(session, "Ana", values={**mine, "hours": 20.0}, today=TODAY)
    with pytest.raises(
        Invalid, match=r"would have worked 24\.5 hours on 3 Mar 2027, of which 20 are written down"
    ):
        log_hours(session, "Ana", values=mine, today=TODAY)

    log_hours(session, "Ana", values={**mine, "hours": 4.0}, today=TODAY)
    log_hours(session, "Ana", values={**mine, "worked_on": TODAY - dt.timedelta(1)}, today=TODAY)
    log_hours(session, "Ana", values={**VALUES, "hours": 90.0}, today=TODAY)  # a crew
    withdraw_hours(session, "Ana", row=first, reason="was Monday’s")
    log_hours(session, "Ana", values=mine, today=TODAY)
