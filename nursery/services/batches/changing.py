"""What a person may change of a batch beside its ledger, and putting it aside."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, Target
from nursery.services import records
from nursery.services.batches.words import plants_text

#: Everything else follows from sowing, counts and movements.
MAY_CHANGE = ("target_id", "ready_on", "protocol", "notes")


def change_batch(
    session: Session,
    actor: str,
    *,
    row: Batch,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Batch:
    """Change what a batch is for, when it is due, its protocol or its notes."""
    del today
    given = {name: value for name, value in values.items() if name in MAY_CHANGE}
    if (day := given.get("ready_on")) is not None and day < row.sown_on:
        raise Invalid({"ready_on": _("It cannot be due before it was sown. Correct the day.")})
    if (target_id := given.get("target_id")) is not None:
        target = records.get(session, Target, target_id)
        if target.species_id != row.species_id:
            raise Invalid({"target_id": _("That target wants another species. Choose one of this species.")})
    if "target_id" in given and given["target_id"] != row.target_id:
        given["line_id"] = None  # the plan line asked for it on behalf of its own target
    return records.update(session, actor, row, given, version=version)


def archive_batch(session: Session, actor: str, row: Batch) -> Batch:
    """Put an empty batch aside; one with plants stays in sight."""
    if row.alive:
        raise Invalid(
            {
                "alive": _(
                    "%(batch)s still has %(alive)s. Dispatch them, or write them off with the cause, first.",
                    batch=row.code,
                    alive=plants_text(row.alive),
                )
            }
        )
    return records.archive(session, actor, row)
