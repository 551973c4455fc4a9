"""Tasks, the people who do them, and the hours they took."""

from __future__ import annotations

import datetime as dt
import secrets
import uuid
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String, false
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base, Record
from nursery.models.batches import Batch, Bench
from nursery.models.lots import Lot
from nursery.models.permits import Permit
from nursery.models.places import Nursery, Population, Site
from nursery.models.plans import PlanLine
from nursery.models.types import UtcDateTime, at_least, choice, utc_now
from nursery.planning.work.words import Job, TaskStatus, Unit


def new_token() -> str:
    """An address nobody can guess."""
    return secrets.token_urlsafe(24)


class Person(Record):
    """Somebody who works here: hours in a week, paid or given."""

    __tablename__ = "people"
    __table_args__ = (at_least("hours_per_week", 0), at_least("wage_per_hour", 0))

    name: Mapped[str] = mapped_column(String(80), unique=True)
    is_volunteer: Mapped[bool] = mapped_column(default=False, server_default=false())
    hours_per_week: Mapped[float]
    #: Empty takes the nursery's own.
    wage_per_hour: Mapped[float | None]
    #: First and last day of working here; empty is open.
    from_on: Mapped[dt.date | None]
    until_on: Mapped[dt.date | None]
    #: Private address of the person's calendar feed.
    feed_token: Mapped[str] = mapped_column(String(64), default=new_token, unique=True)


class Task(Record):
    """One piece of dated work."""

    __tablename__ = "tasks"
    __table_args__ = (
        at_least("amount", 0),
        at_least("done_amount", 0),
        at_least("hours", 0),
        CheckConstraint("until_on >= due_on", name="days"),
        CheckConstraint("status <> 'skipped' OR reason <> ''", name="skipped"),
        CheckConstraint("(status = 'done') = (done_on IS NOT NULL)", name="done"),
        Index("ix_tasks_status_due_on_id", "status", "due_on", "id"),
    )

    #: The same work keeps its key from plan to plan, so that it is updated in place.
    key: Mapped[str] = mapped_column(String(120), unique=True)
    #: Of its calendar event, and how often that has changed.
    uid: Mapped[str] = mapped_column(
        String(64), default=lambda: uuid.uuid4().hex, unique=True, insert_sentinel=True
    )
    sequence: Mapped[int] = mapped_column(default=0, server_default="0")
    job: Mapped[Job] = mapped_column(choice(Job, "job"))
    status: Mapped[TaskStatus] = mapped_column(choice(TaskStatus, "task_status"), default=TaskStatus.OPEN)
    #: The day that the plan set, and the day it is due now; a slip of an earlier task moves the second.
    planned_on: Mapped[dt.date]
    due_on: Mapped[dt.date]
    #: Last day of work that lasts, as stratification does.
    until_on: Mapped[dt.date | None]
    #: The last day on which it can still be done for this season; empty where nothing bounds it.
    latest_on: Mapped[dt.date | None]
    amount: Mapped[float | None]
    unit: Mapped[Unit | None] = mapped_column(choice(Unit, "unit"))
    done_amount: Mapped[float | None]
    #: Expected, by the standard times.
    hours: Mapped[float | None]
    #: What the sentence on screen needs beside the columns: phase, temperature, container …
    details: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"), index=True)
    nursery_id: Mapped[int | None] = mapped_column(ForeignKey("nurseries.id"), index=True)
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"), index=True)
    line_id: Mapped[int | None] = mapped_column(ForeignKey("plan_lines.id"), index=True)
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lots.id"), index=True)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    population_id: Mapped[int | None] = mapped_column(ForeignKey("populations.id"), index=True)
    permit_id: Mapped[int | None] = mapped_column(ForeignKey("permits.id"), index=True)
    site_id: Mapped[int | None] = mapped_column(ForeignKey("sites.id"), index=True)
    #: The task that must be done before, and the days between the two.
    after_id: Mapped[int | None] = mapped_column(ForeignKey("tasks.id"), index=True)
    gap_days: Mapped[int | None]
    done_on: Mapped[dt.date | None]
    done_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    reason: Mapped[str] = mapped_column(default="", server_default="")

    person: Mapped[Person | None] = relationship()
    nursery: Mapped[Nursery | None] = relationship()
    bench: Mapped[Bench | None] = relationship()
    line: Mapped[PlanLine | None] = relationship()
    lot: Mapped[Lot | None] = relationship()
    batch: Mapped[Batch | None] = relationship()
    population: Mapped[Population | None] = relationship()
    permit: Mapped[Permit | None] = relationship()
    site: Mapped[Site | None] = relationship()


class WorkTime(Base):
    """Hours that somebody worked; a wrong entry is withdrawn with a reason."""

    __tablename__ = "work_times"
    __table_args__ = (
        CheckConstraint("hours > 0", name="hours"),
        CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn"),
        Index("ix_work_times_worked_on_id", "worked_on", "id"),
    )

    worked_on: Mapped[dt.date]
    job: Mapped[Job] = mapped_column(choice(Job, "work_time_job"))
    hours: Mapped[float]
    worker_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"), index=True)
    task_id: Mapped[int | None] = mapped_column(ForeignKey("tasks.id"), index=True)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    notes: Mapped[str] = mapped_column(default="", server_default="")
    #: Who wrote it down.
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    withdrawn_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    withdrawn_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    withdrawn_reason: Mapped[str] = mapped_column(default="", server_default="")

    worker: Mapped[Person | None] = relationship()
    batch: Mapped[Batch | None] = relationship()


class StandardTime(Base):
    """The nursery's own standard time of a job; without a row the working figure counts."""

    __tablename__ = "standard_times"
    __table_args__ = (at_least("hours_per_1000", 0),)

    job: Mapped[Job] = mapped_column(choice(Job, "standard_time_job"), unique=True)
    #: Of the job's unit.
    hours_per_1000: Mapped[float]
    reason: Mapped[str] = mapped_column(default="", server_default="")
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
