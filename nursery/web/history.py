"""The history of one record in words: who did what when, and each change from what to what."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any, TypedDict

from sqlalchemy import Date, inspect, select
from sqlalchemy.orm import Session

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Base, Change
from nursery.services import auditing
from nursery.services.changes import ACTIONS
from nursery.web.discretion import sees_private
from nursery.web.forms import RecordForm

#: What the changes of any record may tell beside its columns.
LABELS = {"file_name": _l("File"), "bags": _l("Bags"), "reason": _l("Reason"), "stock": _l("In stock")}
#: Bookkeeping that says nothing to a reader.
SILENT = {"id", "version", "created_at", "archived_at"}


class Entry(TypedDict):
    """One line of the history."""

    at: dt.datetime
    person: str
    action: str
    fields: list[tuple[str, str, str]]


def describe_history(session: Session, row: Base, form: RecordForm) -> list[Entry]:
    """The newest changes first; references read as names, in one query a table they point to.

    Nothing for who may not see private data: what was written down of people is kept in the changes, too.
    """
    if not sees_private():
        return []
    changes = auditing.history(session, row)
    names = _names(session, row, changes)
    labels = {name: str(label) for name, label in LABELS.items()} | form.labels()
    # Days that no field of the form shows would stand as they are kept.
    days = {column.key for column in inspect(type(row)).columns if isinstance(column.type, Date)}

    def shown(column: str, value: Any) -> str:
        if value is None or value == "":
            return _("nothing")
        named = names.get((column, value)) if isinstance(value, int) else None
        if column in days and isinstance(value, str):
            return format_date(dt.date.fromisoformat(value[:10]))
        return named or form.show(column, value)

    return [
        {
            "at": change.at,
            "person": change.person,
            "action": str(ACTIONS.get(change.action, change.action)),
            "fields": [
                (labels.get(column, column), shown(column, pair[0]), shown(column, pair[1]))
                for column, pair in change.details.items()
                if column not in SILENT and change.action != "created" and _is_pair(pair)
            ],
        }
        for change in changes
    ]


def _is_pair(pair: Any) -> bool:
    return isinstance(pair, list) and len(pair) == 2


def _names(session: Session, row: Base, changes: Iterable[Change]) -> dict[tuple[str, Any], str]:
    found: dict[tuple[str, Any], str] = {}
    for relation in inspect(type(row)).relationships:
        if relation.uselist:
            continue
        (column,) = relation.local_columns
        used = {
            value
            for change in changes
            for value in change.details.get(column.name, ())
            if isinstance(value, int)
        }  # fmt: skip
        if used:
            model = relation.mapper.class_
            for other in session.scalars(select(model).where(model.id.in_(used))):
                found[column.name, other.id] = called(other)
    return found


def called(row: Any) -> str:
    """What a record is called in a sentence."""
    for name in ("code", "name", "number", "scientific_name"):
        if value := getattr(row, name, ""):
            return str(value)
    if (day := getattr(row, "seen_on", None)) is not None:
        return _("Note of %(day)s", day=format_date(day))
    if (day := getattr(row, "surveyed_on", None)) is not None:
        return _("Survey of %(day)s", day=format_date(day))
    return str(row.id)
