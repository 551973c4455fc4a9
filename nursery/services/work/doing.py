"""Done, partly done, skipped, put off, and all of it taken back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.models import Task
from nursery.planning.work.words import TaskStatus
from nursery.services import auditing
from nursery.services.work.season import Slip, tell_slip
from nursery.services.work.slipping import followers, redate_chains

_OPEN = (TaskStatus.OPEN, TaskStatus.PARTLY)
#: No task is put off further than so many days; more is a slip of the keys.
FURTHEST = 1100
#: Nor is one done so many days before its day: another year was typed.
EARLIEST = 366


@dataclass(frozen=True, slots=True)
class Done:
    """A task after something was done to it, and what that moved."""

    task: Task
    slip: Slip


def finish_task(
    session: Session, actor: str, *, task: Task, done_on: dt.date, today: dt.date, amount: float | None = None
) -> Done:
    """All of it is done; followers of a task done late move."""
    _refuse_finished(task)
    _refuse_wrong_days(task, done_on, today)
    return _write(
        session, actor, task, "done",
        {"status": TaskStatus.DONE, "done_on": done_on, "done_by": actor, "reason": "",
         "done_amount": amount if amount is not None else task.amount},
    )  # fmt: skip


def part_task(
    session: Session, actor: str, *, task: Task, amount: float, done_on: dt.date, today: dt.date
) -> Done:
    """Some of it is done: ``amount`` in all, in the task's unit; all of it finishes the task."""
    _refuse_finished(task)
    _refuse_wrong_days(task, done_on, today)
    if task.amount is None:
        raise Invalid({"amount": _("This task has no amount. Mark it done, or leave it open.")})
    if not 0 < amount < 1e9:
        raise Invalid({"amount": _("Say how much of it is done: more than 0.")})
    if amount >= task.amount:
        return finish_task(session, actor, task=task, done_on=done_on, today=today, amount=amount)
    if amount <= (task.done_amount or 0):
        raise Invalid(
            {
                "amount": _(
                    "%(done)s of it is done already. Write how much is done in all, or undo it first.",
                    done=format_number(task.done_amount, 1),
                )
            }
        )
    return _write(
        session, actor, task, "partly done",
        {"status": TaskStatus.PARTLY, "done_amount": amount, "done_by": actor},
    )  # fmt: skip


def skip_task(session: Session, actor: str, *, task: Task, reason: str, today: dt.date) -> Done:
    """It is not going to be done, and a person says why."""
    del today
    _refuse_finished(task)
    if not reason.strip():
        raise Invalid({"reason": _("Say why it is skipped, such as “seed looked sound, no need”.")})
    return _write(
        session, actor, task, "skipped",
        {"status": TaskStatus.SKIPPED, "reason": reason.strip()[:500], "done_by": actor},
    )  # fmt: skip


def move_task(session: Session, actor: str, *, task: Task, due_on: dt.date, today: dt.date) -> Done:
    """Put it off, or bring it forward; the plan's own day stays known."""
    _refuse_finished(task)
    if due_on < today:
        raise Invalid({"due_on": _("%(day)s is past. Choose today or a day to come.", day=format_date(due_on))})
    if (due_on - today).days > FURTHEST:
        raise Invalid({"due_on": _("%(day)s is more than three years away.", day=format_date(due_on))})
    details = {**task.details, "moved_on": due_on.isoformat()}
    return _write(session, actor, task, "put off", {"details": details})


def reopen_task(session: Session, actor: str, *, task: Task, today: dt.date) -> Done:
    """Take back that it was done, partly done or skipped, or that a person moved it."""
    del today
    if task.status is TaskStatus.DROPPED:
        raise Conflict(_("The plan no longer asks for this task."))
    if task.details.get("recorded_by"):
        raise Conflict(
            _("This is done by a record, such as a sowing or a count. Take that back, and the task is open again.")
        )
    details = {name: value for name, value in task.details.items() if name != "moved_on"}
    return _write(
        session, actor, task, "opened again",
        {"status": TaskStatus.OPEN, "done_on": None, "done_amount": None, "done_by": "", "reason": "",
         "details": details},
    )  # fmt: skip


def assign_tasks(session: Session, actor: str, *, tasks: Sequence[Task], person_id: int | None) -> int:
    """Give tasks to a person, or to nobody; how many changed hands."""
    changed = [task for task in tasks if task.person_id != person_id and task.status in _OPEN]
    for task in changed:
        task.person_id = person_id
        task.sequence += 1
        auditing.record(session, actor, action="assigned", row=task)
    session.flush()
    return len(changed)


def _write(session: Session, actor: str, task: Task, action: str, values: dict[str, object]) -> Done:
    session.flush()
    behind = followers(session, [task])
    everyone = [task, *behind]
    before = {one.id: one.due_on for one in everyone}
    for name, value in values.items():
        if getattr(task, name) != value:
            setattr(task, name, value)
    task.sequence += 1
    auditing.record(session, actor, action=action, row=task)
    redate_chains(session, everyone)
    session.flush()
    after = {one.id: one.due_on for one in everyone}
    return Done(task, tell_slip(everyone, before, after))


def _refuse_finished(task: Task) -> None:
    if task.status not in _OPEN:
        raise Conflict(
            _("This task is no longer open: somebody else marked it, or the plan dropped it. Nothing was changed.")
        )


def _refuse_wrong_days(task: Task, day: dt.date, today: dt.date) -> None:
    refusal = ""
    if day > today:
        refusal = _("%(day)s is still to come. Write down what is done today or earlier.", day=format_date(day))
    elif task.batch is not None and day < task.batch.sown_on <= task.planned_on:
        refusal = _(
            "%(batch)s was sown on %(day)s; nothing happened to it before. Correct the day.",
            batch=task.batch.code,
            day=format_date(task.batch.sown_on),
        )
    elif (task.planned_on - day).days > EARLIEST:
        refusal = _(
            "%(day)s is more than a year before the day it was planned for. Check the year.", day=format_date(day)
        )
    if refusal:
        raise Invalid({"done_on": refusal})
