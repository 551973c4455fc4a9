"""Days of tasks that wait for each other."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session, aliased

from nursery.models import Task
from nursery.planning.work.slips import follow
from nursery.planning.work.words import Job, TaskStatus

_SETTLED = (TaskStatus.DONE, TaskStatus.SKIPPED)


def redate(tasks: Sequence[Task], *, before: Iterable[Task] = ()) -> list[Task]:
    """Put every open task on its day, never sooner than the one before it allows; those that moved.

    ``before`` are tasks outside the set that some of them wait for.
    """
    everyone = [*tasks, *before]
    rows = {task.id: row for row, task in enumerate(everyone)}
    moved = [task.details.get("moved_on") for task in everyone]
    found = follow(
        np.array([task.planned_on for task in everyone], "datetime64[D]"),
        np.array(moved, "datetime64[D]"),
        np.array([settled_on(task) for task in everyone], "datetime64[D]"),
        np.array([rows.get(task.after_id or -1, -1) for task in everyone], np.int64),
        np.array([task.gap_days or 0 for task in everyone], np.int64),
    )
    changed = []
    for task, day in zip(tasks, found.tolist(), strict=False):
        if task.status not in _SETTLED and place(task, day):
            changed.append(task)
    return changed


def settled_on(task: Task) -> dt.date | None:
    """The day that followers count from: when it was done, or was due where it was skipped."""
    if task.status is TaskStatus.DONE:
        return task.done_on
    return task.due_on if task.status is TaskStatus.SKIPPED else None


def place(task: Task, day: dt.date) -> bool:
    """Make a task due on a day, lasting as long as before; whether that is another day than it was."""
    length = task.details.get("days")
    until = day + dt.timedelta(days=length) if length else None
    if (task.due_on, task.until_on) == (day, until):
        return False
    # A task just made has no event yet that could change.
    if task.due_on != day and task.id is not None:
        task.sequence = (task.sequence or 0) + 1
    task.until_on = None  # never before the day it begins, whichever is written first
    task.due_on, task.until_on = day, until
    return True


def followers(session: Session, tasks: Sequence[Task]) -> list[Task]:
    """All tasks that wait for some, directly or not; a planting waits for all batches. Two queries."""
    ids = [task.id for task in tasks]
    behind = select(Task.id).where(Task.after_id.in_(ids)).cte("behind", recursive=True)
    next_one = aliased(Task)
    behind = behind.union(select(next_one.id).join(behind, next_one.after_id == behind.c.id))
    found = list(session.scalars(select(Task).where(Task.id.in_(select(behind.c.id)))))
    known = {task.key for task in (*tasks, *found)}
    plantings = {key for task in (*tasks, *found) if (key := planting_key(task))} - known
    if plantings:
        found += session.scalars(select(Task).where(Task.key.in_(plantings)))
    return found


def planting_key(task: Task) -> str:
    """Key of the planting that the grading of a batch frees plants for; empty for other work."""
    target = task.details.get("target")
    return f"t{target}-dispatch" if task.job is Job.GRADE and target is not None else ""


def redate_chains(session: Session, tasks: Sequence[Task]) -> None:
    """Put tasks on their days, by those outside too that some wait for; a planting waits for the last grading."""
    inside = {task.id for task in tasks}
    outside = {task.after_id for task in tasks if task.after_id is not None} - inside
    before = session.scalars(select(Task).where(Task.id.in_(outside))).all() if outside else []
    redate(tasks, before=before)
    plantings = {task.key: task for task in tasks if task.job is Job.DISPATCH}
    for grading in tasks:
        planting = plantings.get(planting_key(grading))
        if planting is None or planting.status in _SETTLED:
            continue
        if (settled_on(grading) or grading.due_on) > planting.due_on:
            planting.after_id, planting.gap_days = grading.id, 0
            redate(tasks, before=before)
