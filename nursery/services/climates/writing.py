"""Writing normals: every row of a looked-at file or none, by one statement a kind of change."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import Upload
from nursery.models.climates import Climate
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.climates.columns import MEASURES
from nursery.services.climates.previewing import ClimatePreview, look_at_climates


def write_climates(
    session: Session,
    actor: str,
    *,
    upload: Upload,
    today: dt.date,
    mapping: Sequence[str] | None = None,
    seen: str | None = None,
) -> ClimatePreview:
    """Write every row of a waiting file; ``seen`` is the fingerprint of what the person looked at.

    Raises
    ------
    Conflict
        When the file was written already, has rows that cannot be taken, or comes to something else than was seen.
    """
    if upload.confirmed_at is not None:
        raise Conflict(_("This file is on record already."))
    found = look_at_climates(session, content=upload.content, today=today, mapping=mapping)
    if found.refused:
        raise Conflict(_("Some rows cannot be taken, so nothing was written. They are listed below."))
    if seen is not None and seen != found.fingerprint:
        raise Conflict(_("The records changed since you looked, so nothing was written. Look once more."))
    _write(session, actor, found, upload.file_name)
    upload.confirmed_at = utc_now()
    auditing.record(session, actor, action="confirmed", row=upload)
    return found


def _write(session: Session, actor: str, found: ClimatePreview, file_name: str) -> None:
    ids = [known for known, _values in found.writes if known is not None]
    rows = {row.id: row for row in session.scalars(select(Climate).where(Climate.id.in_(ids)))}
    written: list[tuple[Climate, dict[str, list[Any]]]] = []
    for known, values in found.writes:
        row = Climate(**_blank(values)) if known is None else rows[known]
        before = {key: None if known is None else getattr(row, key) for key in values}
        for key, value in values.items():
            setattr(row, key, value)
        session.add(row)
        written.append((row, {key: [before[key], value] for key, value in values.items()}))
    session.flush()
    auditing.record_many(
        session, actor, action="imported", subject=Climate.__tablename__,
        details={row.id: details | {"file_name": [None, file_name]} for row, details in written},
    )  # fmt: skip


def _blank(values: Mapping[str, Any]) -> dict[str, Any]:
    empty: dict[str, Any] = dict.fromkeys(("population_id", "site_id", *MEASURES))
    return {**empty, "source": "", **values}
