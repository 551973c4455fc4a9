"""The tasks of the adopted plan, made and updated in place: who has a task, and what was done, stays."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, bindparam, or_, select
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import set_committed_value

from nursery.models import Plan, PlanLine, Target, Task
from nursery.planning.work.times import hours
from nursery.planning.work.words import Job, TaskStatus
from nursery.services import auditing
from nursery.services.costing.standard_times import standard_times
from nursery.services.work.gathering import gather_chains
from nursery.services.work.growing import growing_tasks
from nursery.services.work.outside import outside_tasks
from nursery.services.work.records import Recorded, is_by_record, read_recorded, settle
from nursery.services.work.slipping import redate
from nursery.services.work.surveying import planted_surveys
from nursery.services.work.wanted import Wanted

OPEN = (TaskStatus.OPEN, TaskStatus.PARTLY)
#: SQLite takes so many values in one statement, and more.
_AT_ONCE = 500
#: Details that people's acts leave on a task; the plan does not overwrite them.
KEPT = ("moved_on", "recorded_by")


@dataclass(frozen=True, slots=True)
class Synced:
    """What became of the tasks."""

    made: int
    changed: int
    dropped: int

    @property
    def any(self) -> bool:
        """Whether anything did."""
        return bool(self.made or self.changed or self.dropped)


def sync_tasks(session: Session, actor: str, *, today: dt.date) -> Synced:
    """Make the tasks that plan, batches, permits and seed ask for; those no longer asked for are dropped."""
    plan = adopted_plan(session)
    wanted = _growing(session, plan, None, today=today)
    planted = planted_surveys(session, today=today)  # what stands in the field speaks before the plan
    keys = {one.key for one in planted}
    wanted = [*(one for one in wanted if one.key not in keys), *planted, *outside_tasks(session, today=today)]
    known = _known(session, {one.key for one in wanted})
    synced = _write(session, actor, wanted, known)
    if synced.any and plan is not None:
        details = {"made": synced.made, "changed": synced.changed, "dropped": synced.dropped}
        auditing.record(session, actor, action="tasks updated", row=plan, details=details)
    return synced


def sync_some(
    session: Session, actor: str, *, today: dt.date, targets: Collection[int] = (), batches: Collection[int] = ()
) -> Synced:
    """The same for the chains of some targets and batches, after something was done to them."""
    prefixes = [*(f"t{target}" for target in targets), *(f"b{batch}" for batch in batches)]
    wanted = [
        one for one in _growing(session, adopted_plan(session), set(targets), set(batches), today=today)
        if one.key.partition("-")[0].partition("r")[0] in prefixes
    ]  # fmt: skip
    known = _known(session, {one.key for one in wanted}, prefixes)
    return _write(session, actor, wanted, known)


def sync_surveys(session: Session, actor: str, *, today: dt.date, sites: Collection[int]) -> Synced:
    """The counts of survivors at some sites, after a planting was written down there, corrected or archived."""
    session.flush()
    planted = planted_surveys(session, today=today, sites=sites)
    keys = {one.key for one in planted}
    targets = set(session.scalars(select(Target.id).where(Target.site_id.in_(sites))))
    growing = _growing(session, adopted_plan(session), targets, today=today) if targets else []
    asked = [one for one in growing if one.job is Job.SURVEY and one.key not in keys]
    wanted = [*planted, *asked]
    of_sites = select(Task).where(Task.job == Job.SURVEY, Task.site_id.in_(sites))
    known = {
        task.key: task
        for task in session.scalars(of_sites)
        if task.status in OPEN or task.key in {one.key for one in wanted}
    }
    loads = session.scalars(select(Task).where(Task.key.in_({one.after for one in asked})))
    return _write(session, actor, wanted, known, behind={task.key: task for task in loads})


def adopted_plan(session: Session) -> Plan | None:
    """The plan that is worked by."""
    return session.scalar(select(Plan).where(Plan.is_adopted))


def _growing(
    session: Session,
    plan: Plan | None,
    targets: Collection[int] | None,
    batches: Collection[int] = (),
    *,
    today: dt.date,
) -> list[Wanted]:
    gathered = gather_chains(
        session, plan, cycles=_cycles(session, plan, targets), targets=targets, batches=batches
    )
    return growing_tasks(gathered, today=today, feeding=targets is None)


def _cycles(session: Session, plan: Plan | None, targets: Collection[int] | None) -> dict[int, int]:
    """Which sowing for each target it is: what an earlier plan sowed is not sown again, but more may be."""
    if plan is None:
        return {}
    query = select(Task.key, Task.status, PlanLine.target_id, PlanLine.plan_id).join(Task.line)
    query = query.where(Task.job == Job.SOW, Task.status != TaskStatus.DROPPED)
    if targets is not None:
        query = query.where(PlanLine.target_id.in_(targets))
    found: dict[int, int] = {}
    begun: set[tuple[int, int]] = set()
    for key, status, target_id, plan_id in session.execute(query):
        cycle = int(key.partition("-")[0].partition("r")[2] or 1)
        found[target_id] = max(found.get(target_id, 1), cycle)
        if status in {TaskStatus.DONE, TaskStatus.PARTLY} and plan_id != plan.id:
            begun.add((target_id, cycle))
    return {target: cycle + ((target, cycle) in begun) for target, cycle in found.items()}


def _known(session: Session, keys: Collection[str], prefixes: Sequence[str] = ()) -> dict[str, Task]:
    """Tasks with these keys, and all open ones (of the chains named, where any are)."""
    scope: list[ColumnElement[bool]] = [Task.status.in_(OPEN)]
    if prefixes:
        scope.append(
            or_(
                *(Task.key.like(f"{prefix}-%") for prefix in prefixes),
                *(Task.key.like(f"{p}r%") for p in prefixes),
            )
        )
    found = {task.key: task for task in session.scalars(select(Task).where(*scope))}
    missing = sorted(keys - found.keys())
    for first in range(0, len(missing), _AT_ONCE):
        some = session.scalars(select(Task).where(Task.key.in_(missing[first : first + _AT_ONCE])))
        found |= {task.key: task for task in some}
    return found


def _write(
    session: Session,
    actor: str,
    wanted: Sequence[Wanted],
    known: Mapping[str, Task],
    behind: Mapping[str, Task] | None = None,
) -> Synced:
    """``behind`` are tasks that stay as they are, for those wanted to stand after them."""
    times = standard_times(session)
    reckoned = hours([one.job for one in wanted], [one.amount or 0.0 for one in wanted], times).tolist()
    tasks: dict[str, Task] = {}
    made = 0
    for one, expected in zip(wanted, reckoned, strict=True):
        task = known.get(one.key)
        worth = one.hours if one.hours is not None else expected if one.amount is not None else None
        if task is None:
            task = Task(
                key=one.key, status=TaskStatus.OPEN, due_on=one.planned_on, until_on=one.until_on, details={}
            )  # fmt: skip
            session.add(task)
            made += 1
        _fill(task, one, worth, times[one.job].unit)
        tasks[one.key] = task
    dropped = [task for key, task in known.items() if key not in tasks and task.status in OPEN]
    recorded = read_recorded(session, wanted, dropped)
    for task in dropped:
        _drop(task, recorded, actor)
    _hand_over(dropped, [task for key, task in tasks.items() if key not in known])
    changed = {key for key, task in tasks.items() if key in known and session.is_modified(task)}
    for one in wanted:
        settle(tasks[one.key], one, recorded, actor)
    session.flush()
    _link(session, wanted, {**(behind or {}), **tasks})
    redate(list(tasks.values()))
    changed |= {key for key, task in tasks.items() if key in known and session.is_modified(task)}
    session.flush()
    return Synced(made, len(changed), len(dropped))


def _hand_over(dropped: Sequence[Task], made: Sequence[Task]) -> None:
    """Whoever had the work of a line has that of the batch sown for it, step by step."""
    had = {_step(task): task.person_id for task in dropped if task.person_id is not None}
    for task in made:
        person_id = had.get(_step(task)) if task.details.get("target") else None
        if person_id is not None:  # setting nobody would cost an update for each of thousands of tasks
            task.person_id = person_id


def _step(task: Task) -> tuple[int | None, str]:
    return task.details.get("target"), task.key.partition("-")[2]


def _fill(task: Task, one: Wanted, worth: float | None, unit: object) -> None:
    """Bring a task up to date; what is finished stays as it was."""
    if task.status in {TaskStatus.DONE, TaskStatus.SKIPPED} and not is_by_record(task):
        return
    planned_on = one.planned_on if task.planned_on is None or not one.is_standing else task.planned_on
    values: dict[str, Any] = {
        "job": one.job, "planned_on": planned_on, "latest_on": one.latest_on, "amount": one.amount,
        "unit": unit if one.amount is not None else None, "hours": worth, **one.links,
    }  # fmt: skip
    kept = {name: task.details[name] for name in KEPT if name in task.details}
    if task.planned_on != values["planned_on"]:
        kept.pop("moved_on", None)  # the plan has set another day since
    if task.status is TaskStatus.DROPPED:
        values["status"] = TaskStatus.OPEN
    moved = task.id is not None and any(
        name in values and getattr(task, name) != values[name] for name in ("job", "amount", "status")
    )
    for name, value in values.items():
        if getattr(task, name) != value:
            setattr(task, name, value)
    length = (one.until_on - one.planned_on).days if one.until_on is not None else None
    details = {**one.details, **kept} | ({"days": length} if length else {})
    if task.details != details:
        task.details = details
    if moved:
        task.sequence += 1


def _link(session: Session, wanted: Sequence[Wanted], tasks: Mapping[str, Task]) -> None:
    """Put each task behind its own; in one statement, since a task and the one before it are made together."""
    rows = []
    for one in wanted:
        task, before = tasks[one.key], tasks.get(one.after)
        after_id = before.id if before is not None else None
        if (task.after_id, task.gap_days) != (after_id, one.gap_days):
            set_committed_value(task, "after_id", after_id)
            set_committed_value(task, "gap_days", one.gap_days)
            rows.append({"row": task.id, "after": after_id, "gap": one.gap_days})
    if rows:
        table = Task.metadata.tables["tasks"]
        statement = table.update().where(table.c.id == bindparam("row"))
        session.connection().execute(
            statement.values(after_id=bindparam("after"), gap_days=bindparam("gap")), rows
        )


def _drop(task: Task, recorded: Recorded, actor: str) -> None:
    """No longer asked for: because it was done, as the records show, or because nobody needs it."""
    done_on = recorded.gone(task)
    if done_on is not None:
        task.status, task.done_on, task.done_by = TaskStatus.DONE, done_on, actor
        task.details = {**task.details, "recorded_by": "record"}
    else:
        task.status = TaskStatus.DROPPED
        task.done_amount = None
    task.sequence += 1
