"""Writing down, changing, archiving and bringing back any kind of record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from sqlalchemy import Table, UniqueConstraint, inspect, select
from sqlalchemy.orm import Session
from sqlalchemy.orm.exc import StaleDataError

from nursery.errors import Conflict, Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models.base import Record
from nursery.models.types import utc_now
from nursery.services import auditing

R = TypeVar("R", bound=Record)


def get(session: Session, model: type[R], record_id: int) -> R:
    """The record, or ``NotFound``."""
    row = session.get(model, record_id)
    if row is None:
        raise NotFound(_("There is no such record. It may have been typed wrongly."))
    return row


def create(session: Session, actor: str, model: type[R], values: Mapping[str, Any]) -> R:
    """Write a new record down."""
    row = model(**values)
    _refuse_taken(session, row)
    session.add(row)
    auditing.record(session, actor, action="created", row=row, details=_filled(row))
    return row


def update(session: Session, actor: str, row: R, values: Mapping[str, Any], *, version: int | None = None) -> R:
    """Change a record; ``version`` is the one the person saw, and a newer one in the database is a conflict."""
    if version is not None and version != row.version:
        raise Conflict(_("Somebody else changed this record while you were typing. Nothing was overwritten."))
    for field, value in values.items():
        if getattr(row, field) != value:
            setattr(row, field, value)
    details = auditing.changed_fields(row)
    if not details:
        return row
    _refuse_taken(session, row)
    try:
        auditing.record(session, actor, action="changed", row=row, details=details)
    except StaleDataError as stale:
        raise Conflict(
            _("Somebody else changed this record while you were typing. Nothing was overwritten.")
        ) from stale
    return row


def archive(session: Session, actor: str, row: R) -> R:
    """Put a record aside: it leaves lists and plans and stays in histories."""
    if row.archived_at is None:
        row.archived_at = utc_now()
        auditing.record(session, actor, action="archived", row=row)
    return row


def restore(session: Session, actor: str, row: R) -> R:
    """Bring an archived record back."""
    if row.archived_at is not None:
        row.archived_at = None
        _refuse_taken(session, row)
        auditing.record(session, actor, action="restored", row=row)
    return row


def _filled(row: Record) -> dict[str, list[Any]]:
    columns = inspect(type(row)).columns.keys()
    return {
        name: [None, auditing.plain(value)] for name in columns if (value := getattr(row, name)) not in (None, "")
    }


def _refuse_taken(session: Session, row: Record) -> None:
    """Answer a clash with a unique code or name in words, before the database does."""
    for columns in _unique_columns(type(row)):
        values = [getattr(row, name) for name in columns]
        if any(value is None for value in values):
            continue
        model = type(row)
        query = select(model.id).where(
            *(getattr(model, name) == value for name, value in zip(columns, values, strict=True))
        )
        with session.no_autoflush:
            other = session.scalar(query.where(model.id != row.id) if row.id else query)
        if other is not None:
            last = columns[-1]
            raise Invalid(
                {
                    last: _(
                        "“%(value)s” is taken already. Choose another, or open the existing record.",
                        value=values[-1],
                    )
                }
            )


def _unique_columns(model: type[Record]) -> Sequence[list[str]]:
    table = inspect(model).local_table
    if not isinstance(table, Table):
        return []
    return [
        [column.name for column in constraint.columns]
        for constraint in table.constraints
        if isinstance(constraint, UniqueConstraint)
    ]
