"""How the demo's last season ended: what the crews planted, and what became of the plants left over."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Planting, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Cause
from nursery.services.batches.losing import lose
from nursery.services.demo.tables import rows
from nursery.services.plantings import create_planting

#: Days from a load to its planting, and from there to the day on which what is left over is thrown away.
_PLANTED_AFTER, _CLEARED_AFTER = 2, 45


def write_finished(session: Session, actor: str, batches: Sequence[Batch], today: dt.date) -> list[Planting]:
    """Plant what was dispatched of these batches, and throw the rest away."""
    sent = session.scalars(
        select(PlantMovement)
        .where(
            PlantMovement.kind == PlantMovementKind.DISPATCHED,
            PlantMovement.batch_id.in_([batch.id for batch in batches]),
        )
        .order_by(PlantMovement.id)
    ).all()
    planted = [_plant(session, actor, move, today) for move in sent if _planted_on(move) <= today]
    for move in sent:
        cleared_on = _planted_on(move) + dt.timedelta(days=_CLEARED_AFTER)
        if cleared_on <= today and move.batch.alive:
            lose(
                session, actor, batch=move.batch, plants=move.batch.alive, cause=Cause.DESTROYED,
                reason="Left over and outgrown (example)", happened_on=cleared_on, today=today,
            )  # fmt: skip
    return planted


def _planted_on(move: PlantMovement) -> dt.date:
    return move.happened_on + dt.timedelta(days=_PLANTED_AFTER)


def _plant(session: Session, actor: str, move: PlantMovement, today: dt.date) -> Planting:
    site, plants = move.site, -move.change
    told = next(row for row in rows("finished_plantings") if site is not None and row["site"] == site.code)
    values = {
        "site_id": move.site_id, "lot_id": move.batch.lot_id, "batch_id": move.batch_id,
        "planted_on": _planted_on(move), "plants": plants, "people": told["people"],
        "volunteers": int(told["volunteers"]), "hours": round(plants / float(told["plants_per_hour"]), 1),
        "area_m2": plants * float(told["m2_per_plant"]), "notes": told["notes"],
    }  # fmt: skip
    return create_planting(session, actor, values=values, today=today)
