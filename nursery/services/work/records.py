"""What the records show to be done: sowings, counts, plants sent out, tests of seed, notices given."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Change, Count, PlantMovement, SeedTest, Task
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.work.words import Job, TaskStatus
from nursery.services.dispatches.waiting import read_waiting
from nursery.services.permits.notices import NOTICED
from nursery.services.work.surveying import read_surveyed
from nursery.services.work.wanted import Wanted

#: Of an amount, this much counts as all of it: trays are whole, seed is weighed.
NEARLY = 0.98


@dataclass(slots=True)
class Recorded:
    """Days and amounts by what they belong to."""

    #: By batch and stage.
    counted: dict[tuple[int, str], dt.date] = field(default_factory=dict)
    #: Plants and the last day, by target.
    sent: dict[int, tuple[int, dt.date]] = field(default_factory=dict)
    #: Last test by lot.
    tested: dict[int, dt.date] = field(default_factory=dict)
    #: Notices, by permit and mark.
    told: dict[str, dt.date] = field(default_factory=dict)
    #: Stage and its day, by batch.
    stages: dict[int, tuple[Stage, dt.date]] = field(default_factory=dict)
    #: Last survey by site, season and year.
    surveyed: Mapping[tuple[int, int, int], dt.date] = field(default_factory=dict)

    def gone(self, task: Task) -> dt.date | None:
        """When a task that is no longer asked for was done; None where nothing shows that it was."""
        made_on = task.created_at.date() if task.created_at is not None else dt.date.min
        if task.job is Job.RETEST and task.lot_id is not None:
            tested = self.tested.get(task.lot_id)
            return tested if tested is not None and tested > min(made_on, task.planned_on) else None
        if task.job is Job.NOTICE:
            days = [self.told.get(mark) for mark in task.details.get("marks", ())]
            return max((day for day in days if day is not None), default=None) if days and all(days) else None
        if task.job is Job.COUNT and task.batch_id is not None:
            return self.counted.get((task.batch_id, task.details.get("stage", "")))
        if task.job is Job.SURVEY:
            return self.surveyed.get(survey_of(task.site_id, task.details))
        return self._passed(task)

    def _passed(self, task: Task) -> dt.date | None:
        """A batch that has come to a later stage has had done to it what the stage takes."""
        reached = self.stages.get(task.batch_id or 0)
        needs = {
            Job.PRICK_OUT: Stage.GROWING, Job.THIN: Stage.GROWING, Job.MOVE: Stage.HARDENING,
            Job.HARDEN: Stage.HARDENING, Job.GRADE: Stage.READY,
        }.get(task.job)  # fmt: skip
        if reached is None or needs is None or STAGES.index(reached[0]) < STAGES.index(needs):
            return None
        return reached[1]


def read_recorded(session: Session, wanted: Sequence[Wanted], dropped: Iterable[Task]) -> Recorded:
    """What the records show of these tasks, in a few queries."""
    found = Recorded()
    targets = {one.details["target"] for one in wanted if one.details.get("target")}
    gone = list(dropped)
    if targets:
        _read_sent(session, found)
    batches = {task.batch_id for task in gone if task.batch_id is not None}
    if batches:
        for row in session.execute(
            select(Count.batch_id, Count.stage, func.max(Count.counted_on))
            .where(Count.withdrawn_at.is_(None), Count.batch_id.in_(batches)).group_by(Count.batch_id, Count.stage)
        ):  # fmt: skip
            found.counted[row[0], row[1].value] = row[2]
        for batch_id, stage, day in session.execute(
            select(Batch.id, Batch.stage, Batch.stage_on).where(Batch.id.in_(batches))
        ):
            found.stages[batch_id] = stage, day
    if Job.SURVEY in {*(one.job for one in wanted), *(task.job for task in gone)}:
        found.surveyed = read_surveyed(session)
    if any(task.job is Job.RETEST for task in gone):
        tests = select(SeedTest.lot_id, func.max(SeedTest.tested_on)).where(SeedTest.withdrawn_at.is_(None))
        found.tested = {row[0]: row[1] for row in session.execute(tests.group_by(SeedTest.lot_id))}
    if any(task.job is Job.NOTICE for task in gone):
        noted = select(Change.subject_id, Change.details, Change.at).where(Change.action == NOTICED)
        for permit_id, details, at in session.execute(noted):
            told_on = details.get("told_on") or at.date().isoformat()
            found.told[f"{permit_id}:{details['mark'][1]}"] = dt.date.fromisoformat(told_on)
    return found


def _read_sent(session: Session, found: Recorded) -> None:
    kinds = (PlantMovementKind.DISPATCHED, PlantMovementKind.RETURNED)
    reversed_ones = select(PlantMovement.reverses_id).where(PlantMovement.reverses_id.is_not(None))
    rows = session.execute(
        select(PlantMovement.target_id, -func.sum(PlantMovement.change), func.max(PlantMovement.happened_on))
        .where(
            PlantMovement.kind.in_(kinds), PlantMovement.target_id.is_not(None),
            PlantMovement.id.not_in(reversed_ones),
        )
        .group_by(PlantMovement.target_id)
    )  # fmt: skip
    sent = {target: (int(plants), day) for target, plants, day in rows if target is not None}
    for one in read_waiting(session):  # what came back is not at its site
        if one.target_id in sent:
            plants, day = sent[one.target_id]
            sent[one.target_id] = plants - one.plants, day
    found.sent = {target: told for target, told in sent.items() if told[0] > 0}


def settle(task: Task, one: Wanted, recorded: Recorded, actor: str) -> None:
    """Let a task be as far done as the records show; what a person said of it stands."""
    done, day = one.done, one.done_on
    if one.job is Job.DISPATCH:
        plants, day = recorded.sent.get(one.details.get("target", 0), (0, None))
        done = float(plants)
    elif one.job is Job.SURVEY:
        day = recorded.surveyed.get(survey_of(one.links.get("site_id"), one.details))
        done = max(one.amount or 0.0, 1.0) if day is not None else 0.0
    if done or is_by_record(task):
        mark(task, done, day, actor)


def survey_of(site_id: int | None, told: Mapping[str, Any]) -> tuple[int, int, int]:
    """Site, season and year that a survey task asks for."""
    return site_id or 0, told.get("season", 0), told.get("year", 1)


def is_by_record(task: Task) -> bool:
    """Whether a record, and no person, said how far a task is done."""
    return task.details.get("recorded_by") == "record"


def mark(task: Task, done: float, day: dt.date | None, actor: str) -> None:
    """Write down how much of a task the records show; a later look that shows less takes that back."""
    by_record = is_by_record(task)
    said = task.status in {TaskStatus.DONE, TaskStatus.SKIPPED}
    if not by_record and (said or (task.status is TaskStatus.PARTLY and done <= (task.done_amount or 0))):
        return
    if done <= 0 or day is None:
        task.status, task.done_on, task.done_amount, task.done_by = TaskStatus.OPEN, None, None, ""
        task.details = {name: value for name, value in task.details.items() if name != "recorded_by"}
        task.sequence += 1
        return
    is_all = done >= NEARLY * (task.amount or 0)
    found = TaskStatus.DONE if is_all else TaskStatus.PARTLY, day if is_all else None, done
    if (task.status, task.done_on, task.done_amount) == found:
        return
    task.status, task.done_on, task.done_amount = found
    task.done_by = actor
    task.details = {**task.details, "recorded_by": "record"}
    task.sequence = (task.sequence or 0) + 1
