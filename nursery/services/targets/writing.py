"""Writing targets down, changing them, bringing them back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from nursery.models import Target
from nursery.services import checking, records
from nursery.services.targets.checking import check_target, settled


def create_target(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Target:
    """Write a target down."""
    checked = settled(values)
    check_target(session, checked, today=today)
    return records.create(session, actor, Target, checked)


def change_target(
    session: Session,
    actor: str,
    *,
    row: Target,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Target:
    """Change a target; what belonged to another basis is emptied."""
    checked = settled({**checking.columns_of(row), **values})
    check_target(session, checked, today=today, row=row)
    kept = {name: checked[name] for name in checked if name not in {"id", "version", "created_at", "archived_at"}}
    return records.update(session, actor, row, kept, version=version)


def restore_target(session: Session, actor: str, row: Target) -> Target:
    """Bring an archived target back, unless another has taken its place."""
    check_target(session, checking.columns_of(row), row=row)
    return records.restore(session, actor, row)
