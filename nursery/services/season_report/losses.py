"""Plants that died or were thrown away, by the stage they had reached and by cause."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Count, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Cause, Stage
from nursery.services.season_report.scope import Scope


@dataclass(frozen=True)
class Loss:
    """Plants of one species lost at one stage of one cause."""

    species_id: int
    stage: Stage
    cause: Cause
    plants: int


def read_losses(session: Session, scope: Scope) -> list[Loss]:
    """Losses of the season's batches that nobody took back, in two queries.

    The stage is that of the last count before the plants were lost; a loss that a count itself brought to light
    happened at the stage before it.
    """
    undone = select(PlantMovement.reverses_id).where(PlantMovement.reverses_id.is_not(None))
    rows = session.execute(
        select(
            PlantMovement.batch_id, PlantMovement.cause, PlantMovement.happened_on, PlantMovement.act,
            PlantMovement.change,
        ).where(PlantMovement.kind == PlantMovementKind.LOST, PlantMovement.id.not_in(undone))
    ).all()  # fmt: skip
    counts = _counts(session)
    sums: defaultdict[tuple[int, Stage, Cause], int] = defaultdict(int)
    for batch_id, cause, day, act, change in rows:
        batch = scope.batches.get(batch_id)
        if batch is not None:
            stage = _stage(counts.get(batch_id, ()), day, act)
            sums[batch.species_id, stage, cause or Cause.UNKNOWN] -= change
    return [Loss(*key, plants) for key, plants in sorted(sums.items())]


def _counts(session: Session) -> dict[int, list[tuple[dt.date, str, Stage]]]:
    rows = session.execute(
        select(Count.batch_id, Count.counted_on, Count.act, Count.stage)
        .where(Count.withdrawn_at.is_(None))
        .order_by(Count.counted_on, Count.id)
    )
    found: defaultdict[int, list[tuple[dt.date, str, Stage]]] = defaultdict(list)
    for batch_id, day, act, stage in rows:
        found[batch_id].append((day, act, stage))
    return found


def _stage(counts: Sequence[tuple[dt.date, str, Stage]], day: dt.date, act: str) -> Stage:
    stage = Stage.SOWN
    for counted_on, own, reached in counts:
        if counted_on > day or own == act:
            break
        stage = reached
    return stage
