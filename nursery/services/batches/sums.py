"""What became of a batch's plants: what came in is what is alive, lost and dispatched."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import ColumnElement, case, func, select
from sqlalchemy.orm import Session, aliased

from nursery.models import PlantMovement
from nursery.models.batches import PlantMovementKind


@dataclass(frozen=True, slots=True)
class PlantSums:
    """Plants of one batch or of all; what was taken back counts for nothing."""

    #: Counted in, and joined by splits and mergers (below zero where more left that way than came).
    counted: int = 0
    joined: int = 0
    lost: int = 0
    #: Those that came back left out.
    dispatched: int = 0

    @property
    def came(self) -> int:
        """Plants in."""
        return self.counted + self.joined

    @property
    def alive(self) -> int:
        """What is left of them."""
        return self.came - self.lost - self.dispatched


def plant_sums(session: Session, batch_ids: Iterable[int] | None = None) -> dict[int, PlantSums]:
    """By batch id, in one query; of all batches with movements unless some are named."""
    undone = aliased(PlantMovement)
    # A reversal belongs to what it took back.
    kind = func.coalesce(undone.kind, PlantMovement.kind)

    def total(*kinds: PlantMovementKind) -> ColumnElement[int]:
        return func.coalesce(func.sum(case((kind.in_(kinds), PlantMovement.change), else_=0)), 0)

    query = (
        select(
            PlantMovement.batch_id,
            total(PlantMovementKind.COUNTED),
            total(PlantMovementKind.SPLIT, PlantMovementKind.MERGED),
            -total(PlantMovementKind.LOST),
            -total(PlantMovementKind.DISPATCHED, PlantMovementKind.RETURNED),
        )
        .outerjoin(undone, PlantMovement.reverses_id == undone.id)
        .group_by(PlantMovement.batch_id)
    )
    wanted = None if batch_ids is None else sorted(set(batch_ids))
    if wanted is not None:
        query = query.where(PlantMovement.batch_id.in_(wanted))
    found = {row[0]: PlantSums(*(int(number) for number in row[1:])) for row in session.execute(query)}
    return found if wanted is None else {batch_id: found.get(batch_id, PlantSums()) for batch_id in wanted}
