"""The ledger in short, for the season page: what happened lately, and the lots that were mixed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, Species
from nursery.models.movements import Measure, Movement, MovementKind


@dataclass(frozen=True, slots=True)
class Happened:
    """One movement with the lot it belongs to."""

    lot_id: int
    code: str
    species_name: str
    kind: MovementKind
    measure: Measure
    change: int
    happened_on: dt.date


@dataclass(frozen=True, slots=True)
class MixedLot:
    """A lot that was mixed from others."""

    lot_id: int
    code: str
    species_name: str


def latest_movements(session: Session, most: int = 5) -> Sequence[Happened]:
    """What was written down last, beginnings left out: a file of lots would fill the list."""
    rows = session.execute(
        select(
            Lot.id, Lot.code, Species.scientific_name, Movement.kind, Movement.measure, Movement.change,
            Movement.happened_on,
        )
        .join(Lot, Movement.lot_id == Lot.id)
        .join(Species, Lot.species_id == Species.id)
        .where(Movement.kind.not_in((MovementKind.OPENING, MovementKind.COLLECTED)))
        .order_by(Movement.id.desc())
        .limit(most)
    )  # fmt: skip
    return [Happened(*row) for row in rows]


def mixed_lots(session: Session, most: int = 5) -> Sequence[MixedLot]:
    """The newest lots in use that were mixed."""
    made = select(Movement.id).where(
        Movement.lot_id == Lot.id, Movement.kind == MovementKind.MIXED, Movement.change > 0
    )
    rows = session.execute(
        select(Lot.id, Lot.code, Species.scientific_name)
        .join(Species, Lot.species_id == Species.id)
        .where(made.exists(), Lot.archived_at.is_(None))
        .order_by(Lot.id.desc())
        .limit(most)
    )
    return [MixedLot(*row) for row in rows]
