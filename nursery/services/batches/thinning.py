"""Thinning: surplus seedlings are pulled so that each cell keeps one."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, PlantMovement
from nursery.planning.growing.words import Cause
from nursery.services.batches.losing import lose
from nursery.services.batches.moving import alive_now
from nursery.services.batches.words import plants_text


def thin(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    happened_on: dt.date,
    today: dt.date,
    left: int | None = None,
    removed: int | None = None,
    reason: str = "",
) -> PlantMovement:
    """Write down what was pulled, by what was ``removed`` or what is ``left``; a loss of cause thinned."""
    if (left is None) == (removed is None):
        raise Invalid({"left": _("Give the plants that are left, or those that were pulled.")})
    if removed is None:
        alive = alive_now(session, batch)
        if left is None or not 0 < left < alive:
            raise Invalid(
                {
                    "left": _(
                        "%(batch)s had %(alive)s; after thinning fewer are left, but some. Count it first if it"
                        " has more.",
                        batch=batch.code,
                        alive=plants_text(alive),
                    )
                }
            )
        removed = alive - left
    return lose(
        session, actor, batch=batch, plants=removed, cause=Cause.THINNED, happened_on=happened_on, today=today,
        reason=reason,
    )  # fmt: skip


def one_per_cell(batch: Batch) -> int | None:
    """Plants that would be left with one in each cell at most; None where it stands in no cells."""
    return min(batch.trays * batch.cells_per_tray, batch.alive) if batch.cells_per_tray else None
