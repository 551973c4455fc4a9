"""Hours that were worked: written down, listed, withdrawn with a reason."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid, NotFound
from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, Person, Species, Task, WorkTime
from nursery.models.types import utc_now
from nursery.planning.work.words import Job
from nursery.services import auditing, limits
from nursery.services.costing.words import JOB_LABELS
from nursery.services.limits import Bounds
from nursery.services.listing import Column, Filter, Listing, choice_options, whole

#: One entry may stand for a crew and a week, where nobody is named; beyond that it is a slip of the keyboard.
HOURS = Bounds(0, 1_000, above=True)
#: What a named person can have worked on one day.
DAY = 24.0


def _joins(query: Select[Any]) -> Select[Any]:
    return (
        query.outerjoin(Person, WorkTime.worker_id == Person.id)
        .outerjoin(Batch, WorkTime.batch_id == Batch.id)
        .outerjoin(Species, Batch.species_id == Species.id)
    )


def _workers(session: Session) -> list[tuple[str, str]]:
    rows = session.query(Person.id, Person.name).order_by(Person.name)
    return [(str(key), name) for key, name in rows]


LISTING = Listing(
    model=WorkTime,
    order="-worked_on",
    joins=_joins,
    columns=(
        Column("worked_on", _l("Worked on"), WorkTime.worked_on, "date"),
        Column("job", _l("Work"), WorkTime.job, "choice", choices=JOB_LABELS),
        Column("hours", _l("Hours"), WorkTime.hours, "number", digits=2),
        Column("worker", _l("Who"), Person.name),
        Column("batch", _l("Batch"), Batch.code, "code", nullable=True),
        Column("species", _l("Species"), Species.scientific_name, "taxon"),
        Column("notes", _l("Notes"), WorkTime.notes),
        Column("person", _l("Written down by"), WorkTime.person, on_screen=False),
        Column("withdrawn", _l("Withdrawn because"), WorkTime.withdrawn_reason),
    ),
    search=(Batch.code, Person.name, WorkTime.notes, Species.scientific_name),
    search_species=True,
    filters=(
        Filter("job", _l("Work"), WorkTime.job, choice_options(JOB_LABELS), parse=Job),
        Filter("worker", _l("Who"), WorkTime.worker_id, _workers, parse=whole),
    ),
)


def log_hours(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> WorkTime:
    """Write hours down; those of a task are of its batch too, unless another is named."""
    refused = {}
    if told := HOURS.refusal(values["hours"]):
        refused["hours"] = told
    if values["worked_on"] > today:
        refused["worked_on"] = _(
            "%(day)s is still to come. Write hours down when they were worked.",
            day=format_date(values["worked_on"]),
        )
    elif values["worked_on"].year < limits.SEASON.low:
        refused["worked_on"] = _(
            "%(day)s is too long ago. Correct the date.", day=format_date(values["worked_on"])
        )
    if not refused and (told := _too_long_a_day(session, values)):
        refused["hours"] = told
    if refused:
        raise Invalid(refused)
    kept = dict(values)
    if kept.get("task_id") and not kept.get("batch_id"):
        task = session.get(Task, kept["task_id"])
        kept["batch_id"] = task.batch_id if task else None
    row = WorkTime(**kept, person=actor)
    session.add(row)
    auditing.record(session, actor, action="created", row=row)
    return row


def _too_long_a_day(session: Session, values: Mapping[str, Any]) -> str:
    """Why a named person cannot have worked so long on one day, with what is written down of it already."""
    worker = session.get(Person, values["worker_id"]) if values.get("worker_id") else None
    if worker is None:
        return ""
    query = select(func.sum(WorkTime.hours)).where(
        WorkTime.worker_id == worker.id, WorkTime.worked_on == values["worked_on"], WorkTime.withdrawn_at.is_(None)
    )
    before = float(session.scalar(query) or 0.0)
    if before + values["hours"] <= DAY + 1e-9:
        return ""
    return _(
        "%(person)s would have worked %(hours)s hours on %(day)s, of which %(before)s are written down already; a"
        " day has 24. Give each day its own entry, or leave the person open for the hours of a crew.",
        person=worker.name,
        hours=format_number(before + values["hours"], 2),
        day=format_date(values["worked_on"]),
        before=format_number(before, 2),
    )


def withdraw_hours(session: Session, actor: str, *, row: WorkTime, reason: str) -> WorkTime:
    """Withdraw an entry: it stays on record with the reason, and counts no more."""
    if row.withdrawn_at is not None:
        raise Conflict(_("This entry was withdrawn already, by %(person)s.", person=row.withdrawn_by))
    if not reason.strip():
        raise Invalid({"reason": _("Say why the entry is wrong; it stays on record with the reason.")})
    row.withdrawn_at, row.withdrawn_by, row.withdrawn_reason = utc_now(), actor, reason.strip()
    auditing.record(session, actor, action="withdrawn", row=row)
    return row


def get_work_time(session: Session, row_id: int) -> WorkTime:
    """One entry, or ``NotFound``."""
    row = session.get(WorkTime, row_id)
    if row is None:
        raise NotFound(_("There is no such entry of hours."))
    return row
