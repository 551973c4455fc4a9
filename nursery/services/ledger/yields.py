"""What fruit gave in seed, read from the ledger: evidence for the extraction yield of a species."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session, aliased

from nursery.models import Lot
from nursery.models.movements import Measure, Movement, MovementKind


@dataclass(frozen=True, slots=True)
class ExtractionYield:
    """One extraction that was weighed on both sides and not taken back."""

    act: str
    species_id: int
    lot_id: int
    happened_on: dt.date
    fruit_mg: int
    seed_mg: int

    @property
    def share(self) -> float:
        """Seed by weight of fruit."""
        return self.seed_mg / self.fruit_mg


def extraction_yields(
    session: Session, species_ids: Sequence[int] | None = None, lot_id: int | None = None
) -> list[ExtractionYield]:
    """All weighed extractions, oldest first, in one query."""
    undo = aliased(Movement)
    fruit = -func.sum(case((Movement.measure == Measure.FRUIT, Movement.change), else_=0))
    seed = func.sum(case((Movement.measure == Measure.SEED, Movement.change), else_=0))
    query = (
        select(Movement.act, Lot.species_id, Movement.lot_id, func.min(Movement.happened_on), fruit, seed)
        .join(Lot, Movement.lot_id == Lot.id)
        .where(
            Movement.kind == MovementKind.EXTRACTED,
            ~select(undo.id).where(undo.reverses_id == Movement.id).exists(),
        )
        .group_by(Movement.act, Lot.species_id, Movement.lot_id)
        .having(fruit > 0, seed > 0)
        .order_by(func.min(Movement.id))
    )
    if species_ids is not None:
        query = query.where(Lot.species_id.in_(species_ids))
    if lot_id is not None:
        query = query.where(Movement.lot_id == lot_id)
    return [
        ExtractionYield(act, species, lot, day, int(fruit_mg), int(seed_mg))
        for act, species, lot, day, fruit_mg, seed_mg in session.execute(query)
    ]
