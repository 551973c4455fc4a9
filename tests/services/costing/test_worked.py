"""Planned hours beside those that were worked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from sqlalchemy.orm import Session

from nursery.models import Task
from nursery.planning.work.times import WORKING_TIMES
from nursery.planning.work.words import Job, TaskStatus, Unit
from nursery.services.costing.work_times import log_hours, withdraw_hours
from nursery.services.costing.worked import Worked, read_worked

TODAY = dt.date(2027, 3, 3)
DONE: dict[str, Any] = {"status": TaskStatus.DONE, "done_on": TODAY}


def log(session: Session, hours: float, job: Job = Job.SOW, **values: Any) -> Any:
    given = {"worked_on": TODAY, "job": job, "hours": hours, **values}
    return log_hours(session, "Ana", values=given, today=TODAY)


def test_finished_tasks_with_hours_logged_are_set_beside_their_plan(
    session: Session, make_task: Callable[..., Task]
) -> None:
    cells: dict[str, Any] = {"unit": Unit.CELLS, **DONE}
    first = make_task(Job.SOW, "2027-03-01", 4.0, amount=1600.0, done_amount=1600.0, **cells)
    second = make_task(Job.SOW, "2027-03-02", 2.0, amount=800.0, **cells)
    make_task(Job.SOW, "2027-03-02", 9.0, amount=800.0, **cells)  # nobody logged it
    begun = make_task(Job.SOW, "2027-03-03", 9.0, amount=800.0, unit=Unit.CELLS)
    for task, hours in ((first, 3.0), (first, 2.0), (second, 2.25), (begun, 1.0)):
        log(session, hours, task_id=task.id)
    withdraw_hours(session, "Ana", row=log(session, 50.0, task_id=first.id), reason="slip")
    log(session, 0.5)

    [found] = read_worked(session)
    assert found == Worked(Job.SOW, 8.75, 2, 6.0, 7.25, 7.25 / 2400 * 1000, WORKING_TIMES[Job.SOW])
    assert found.beyond == 1.25


def test_work_in_other_units_or_without_a_task_has_no_time_for_a_thousand(
    session: Session, make_task: Callable[..., Task]
) -> None:
    task = make_task(Job.COUNT, "2027-03-01", 1.0, amount=10.0, unit=Unit.PLANTS, **DONE)
    log(session, 1.5, Job.COUNT, task_id=task.id)
    log(session, 2.0, Job.WEED)

    assert [(one.job, one.tasks, one.per_1000, one.logged) for one in read_worked(session)] == [
        (Job.WEED, 0, None, 2.0),
        (Job.COUNT, 1, None, 1.5),
    ]


def test_without_hours_there_is_nothing_to_compare(session: Session, make_task: Callable[..., Task]) -> None:
    make_task(Job.SOW, "2027-03-01", 4.0, **DONE)
    assert read_worked(session) == []


def test_hours_of_a_batch_stand_beside_its_finished_tasks(
    session: Session, make_task: Callable[..., Task], maker: Any
) -> None:
    batch, other = maker.batch(), maker.batch()
    for hours, trays in ((1.0, 10.0), (0.5, 10.0)):
        make_task(Job.COUNT, "2027-03-01", hours, amount=trays, unit=Unit.TRAYS, batch_id=batch.id, **DONE)
    make_task(Job.COUNT, "2027-03-09", 1.0, amount=10.0, unit=Unit.TRAYS, batch_id=batch.id)  # not yet
    make_task(Job.COUNT, "2027-03-01", 9.0, amount=10.0, unit=Unit.TRAYS, batch_id=other.id, **DONE)
    log(session, 2.0, Job.COUNT, batch_id=batch.id)
    log(session, 7.0, Job.SOW, batch_id=batch.id)

    found = {one.job: one for one in read_worked(session)}
    counted = found[Job.COUNT]
    assert (counted.tasks, counted.planned, counted.took, counted.per_1000) == (2, 1.5, 2.0, 100.0)
    assert (found[Job.SOW].tasks, found[Job.SOW].logged) == (0, 7.0)
