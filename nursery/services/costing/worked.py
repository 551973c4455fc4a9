"""Hours planned and hours worked, by kind of work: of what is finished, and in all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Task, WorkTime
from nursery.planning.work.times import StandardTime
from nursery.planning.work.words import Job, TaskStatus, Unit
from nursery.services.costing.standard_times import standard_times


@dataclass(frozen=True, slots=True)
class Worked:
    """One kind of work."""

    job: Job
    #: All hours logged for it.
    logged: float
    #: Finished tasks that have hours logged (by themselves or by their batch), what was planned for them, and what
    #: they took.
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
    """Every kind of work that has hours logged, in the order of the year. Four queries."""
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
    """Tasks, planned hours, hours taken and hours for 1,000 units, of each kind of work."""
    pieces, of_task = _pieces(session)
    for job, task_id, line_id, lot_id, batch_id, hours in _logged(session):
        if task_id is not None:
            piece = of_task.get(task_id)
        else:
            piece = pieces.get((job, "sown", line_id, lot_id)) or pieces.get((job, "batch", batch_id, None))
        if piece is not None:
            piece.took += float(hours)
    found: dict[Job, tuple[int, float, float, float | None]] = {}
    for job in {piece.job for piece in of_task.values()}:
        own = [piece for piece in {id(piece): piece for piece in of_task.values()}.values() if piece.job is job]
        own = [piece for piece in own if piece.took]
        took = sum(piece.took for piece in own)
        amount = sum(piece.amount for piece in own)
        fits = amount > 0 and all(piece.units == {times[job].unit} for piece in own)
        found[job] = (
            sum(piece.tasks for piece in own), sum(piece.planned for piece in own), took,
            took / amount * 1000 if fits else None,
        )  # fmt: skip
    return found


@dataclass(slots=True)
class _Piece:
    """Finished tasks of one kind whose hours are logged together: those of one batch, or one task."""

    job: Job
    tasks: int = 0
    planned: float = 0.0
    amount: float = 0.0
    units: set[Unit | None] = field(default_factory=set)
    took: float = 0.0


_Key = tuple[Job, str, int | None, int | None]


def _pieces(session: Session) -> tuple[dict[_Key, _Piece], dict[int, _Piece]]:
    """By what they are of, and by task."""
    pieces: dict[_Key, _Piece] = {}
    of_task: dict[int, _Piece] = {}
    rows = session.execute(
        select(
            Task.id, Task.job, Task.unit, Task.hours, func.coalesce(Task.done_amount, Task.amount), Task.batch_id,
            Task.line_id, Task.lot_id,
        ).where(Task.status == TaskStatus.DONE, Task.hours.is_not(None))
    )  # fmt: skip
    for task_id, job, unit, hours, amount, batch_id, line_id, lot_id in rows:
        key: _Key
        if batch_id is not None:
            key = (job, "batch", batch_id, None)
        elif job is Job.SOW and line_id is not None and lot_id is not None:
            key = (job, "sown", line_id, lot_id)
        else:
            key = (job, "task", task_id, None)
        piece = pieces.setdefault(key, _Piece(job))
        piece.tasks, piece.planned = piece.tasks + 1, piece.planned + float(hours or 0.0)
        piece.amount += float(amount or 0.0)
        piece.units.add(unit)
        of_task[task_id] = piece
    return pieces, of_task


def _logged(session: Session) -> Sequence[Any]:
    return session.execute(
        select(
            WorkTime.job,
            WorkTime.task_id,
            Batch.line_id,
            Batch.lot_id,
            WorkTime.batch_id,
            func.sum(WorkTime.hours),
        )
        .outerjoin(Batch, WorkTime.batch_id == Batch.id)
        .where(WorkTime.withdrawn_at.is_(None))
        .group_by(WorkTime.job, WorkTime.task_id, WorkTime.batch_id, Batch.line_id, Batch.lot_id)
    ).all()
