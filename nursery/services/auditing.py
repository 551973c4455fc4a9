"""The record of who changed what; every service that writes calls it in the same transaction."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import inspect, select
from sqlalchemy.orm import Session

from nursery.models import Base, Change


def plain(value: Any) -> Any:
    """A column's value as JSON can hold it."""
    return value.isoformat() if isinstance(value, (dt.date, dt.datetime)) else value


def changed_fields(row: Base) -> dict[str, list[Any]]:
    """Fields of ``row`` that differ from the database, as ``{field: [before, after]}``."""
    found: dict[str, list[Any]] = {}
    state = inspect(row)
    for name in state.mapper.columns.keys():  # noqa: SIM118 -- a column collection, not a dict
        history = state.attrs[name].history
        if history.has_changes():
            before = history.deleted[0] if history.deleted else None
            after = history.added[0] if history.added else None
            if before != after:
                found[name] = [plain(before), plain(after)]
    return found


def record(
    session: Session, actor: str, *, action: str, row: Base, details: Mapping[str, Any] | None = None
) -> None:
    """Note that ``actor`` did ``action`` to ``row``; a new row gets its id first."""
    noted = dict(changed_fields(row) if details is None else details)
    session.flush()  # a new row's id is part of the record
    session.add(Change(person=actor, action=action, subject=row.__tablename__, subject_id=row.id, details=noted))


def history(session: Session, row: Base, limit: int = 50) -> Sequence[Change]:
    """The newest changes of one record first."""
    return session.scalars(
        select(Change)
        .where(Change.subject == row.__tablename__, Change.subject_id == row.id)
        .order_by(Change.id.desc())
        .limit(limit)
    ).all()
