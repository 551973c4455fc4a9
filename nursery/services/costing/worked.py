"""Hours planned and hours worked, by kind of work: of what is finished, and in all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Task, WorkTime
from nursery.planning.work.times import StandardTime
from nursery.planning.work.words import Job, TaskStatus
from nursery.services.costing.standard_times import standard_times


@dataclass(frozen=True, slots=True)
class Worked:
    """One kind of work."""

    job: Job
    #: All hours logged for it.
    logged: float
    #: Finished tasks that have hours logged, what was planned for them, and what they took.
    tasks: int
    planned: float
    took: float
    #: Hours that 1,000 units took in those; None where their units are not those of the standard time.
    per_1000: float | None
    standard: StandardTime

    @property
    def beyond(self) -> float:
        """Hours more than planned; below zero for fewer."""
        return self.took - self.planned


def read_worked(session: Session) -> Sequence[Worked]:
    """Every kind of work that has hours logged, in the order of the year. Three queries."""
    logged = {
        job: float(hours)
        for job, hours in session.execute(
            select(WorkTime.job, func.sum(WorkTime.hours))
            .where(WorkTime.withdrawn_at.is_(None))
            .group_by(WorkTime.job)
        )
    }
    times = standard_times(session)
    finished, none = _finished(session, times), (0, 0.0, 0.0, None)
    return [Worked(job, logged[job], *finished.get(job, none), times[job]) for job in Job if job in logged]


def _finished(
    session: Session, times: Mapping[Job, StandardTime]
) -> dict[Job, tuple[int, float, float, float | None]]:
    took = (
        select(WorkTime.task_id, func.sum(WorkTime.hours).label("hours"))
        .where(WorkTime.withdrawn_at.is_(None), WorkTime.task_id.is_not(None))
        .group_by(WorkTime.task_id)
        .subquery()
    )
    rows = session.execute(
        select(
            Task.job, Task.unit, func.count(), func.sum(Task.hours), func.sum(took.c.hours),
            func.sum(func.coalesce(Task.done_amount, Task.amount)),
        )
        .join(took, took.c.task_id == Task.id)
        .where(Task.status == TaskStatus.DONE, Task.hours.is_not(None))
        .group_by(Task.job, Task.unit)
    )  # fmt: skip
    found: dict[Job, tuple[int, float, float, float | None]] = {}
    for job, unit, tasks, planned, hours, amount in rows:
        before = found.get(job, (0, 0.0, 0.0, None))
        fits = unit == times[job].unit and amount
        found[job] = (
            before[0] + tasks,
            before[1] + float(planned),
            before[2] + float(hours),
            float(hours) / float(amount) * 1000 if fits else before[3],
        )
    return found
