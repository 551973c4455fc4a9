"""Plants that died or were thrown away, with the cause."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.models import Batch, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Cause
from nursery.services.batches.leaving import settle_trays
from nursery.services.batches.moving import check_act, new_act, whole_act
from nursery.services.batches.settling import move_on_day
from nursery.services.work.following import note_batch


def lose(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    plants: int,
    cause: Cause,
    happened_on: dt.date,
    today: dt.date,
    reason: str = "",
    trays_left: int | None = None,
    act: str = "",
) -> PlantMovement:
    """Write plants off. Trays stay where they stand unless ``trays_left`` says otherwise or nothing is left."""
    check_act(batch, happened_on=happened_on, today=today, plants=plants)
    act = act or new_act()
    with whole_act(session, [batch]):
        moved = move_on_day(
            session, actor, batch=batch, kind=PlantMovementKind.LOST, change=-plants, cause=cause, reason=reason,
            happened_on=happened_on, today=today, act=act,
        )  # fmt: skip
        settle_trays(session, actor, batch, trays_left, happened_on, act)
        note_batch(session, actor, batch=batch, today=today)
    return moved
