"""People who work here: hours in a week, paid or given."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Person, Task
from nursery.planning.work.words import TaskStatus
from nursery.services import checking, records
from nursery.services.limits import Bounds
from nursery.services.listing import Column, Listing
from nursery.services.work.doing import assign_tasks

#: A week has 168 hours; nobody's hour costs a hundred thousand.
BOUNDS = {"hours_per_week": Bounds(0, 100), "wage_per_hour": Bounds(0, 100_000)}
GIVEN_LABELS = {"True": _l("Volunteer"), "False": _l("Paid")}

LISTING = Listing(
    model=Person,
    order="name",
    columns=(
        Column("name", _l("Name"), Person.name, link=("people.detail", Person.id)),
        Column("given", _l("Paid or given"), Person.is_volunteer, "choice", choices=GIVEN_LABELS),
        Column("hours", _l("Hours a week"), Person.hours_per_week, "number", digits=1),
        Column("wage", _l("Wage an hour"), Person.wage_per_hour, "number", digits=2, on_screen=False),
        Column("from", _l("From"), Person.from_on, "date"),
        Column("until", _l("Until"), Person.until_on, "date"),
        Column("notes", _l("Notes"), Person.notes, on_screen=False),
    ),
    search=(Person.name,),
)


def create_person(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Person:
    """Write a person down."""
    del today
    _check(values)
    return records.create(session, actor, Person, values)


def change_person(
    session: Session,
    actor: str,
    *,
    row: Person,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Person:
    """Change what is written of a person; tasks that are given to them stay theirs."""
    del today
    _check(values)
    return records.update(session, actor, row, values, version=version)


def open_tasks(session: Session, person: Person) -> Sequence[Task]:
    """What a person still has to do."""
    mine = (Task.person_id == person.id, Task.status.in_((TaskStatus.OPEN, TaskStatus.PARTLY)))
    return session.scalars(select(Task).where(*mine).order_by(Task.due_on, Task.id)).all()


def archive_person(session: Session, actor: str, row: Person) -> Person:
    """Put a person aside; what they still had to do is nobody's again, so that somebody else can take it."""
    assign_tasks(session, actor, tasks=open_tasks(session, row), person_id=None)
    return records.archive(session, actor, row)


def _check(values: Mapping[str, Any]) -> None:
    refused = checking.beyond(values, BOUNDS)
    first, last = values.get("from_on"), values.get("until_on")
    if first is not None and last is not None and last < first:
        refused["until_on"] = _("The last day lies before the first one.")
    if refused:
        raise Invalid(refused)
