"""What was collected: each lot with where, when and how much, as permits count it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import ColumnElement, and_, case, exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from nursery.models import Lot, Population, Species
from nursery.models.movements import Measure, Movement, MovementKind

#: Movements that say how much was collected; what happens to the seed later does not change it.
_COLLECTING = (MovementKind.COLLECTED, MovementKind.OPENING)
#: Movements by which seed comes out of other lots.
_MAKING = (MovementKind.SPLIT, MovementKind.MIXED)
#: Ids in one question.
_PORTION = 1000


@dataclass(frozen=True, slots=True)
class Taking:
    """One lot as an authority sees it."""

    lot_id: int
    lot_code: str
    permit_id: int | None
    permit_number: str
    species_id: int
    species_name: str
    collected_on: dt.date
    reported_on: dt.date | None
    #: As collected: fruit as weighed in the field, else clean seed; 0 for lots made from other lots.
    milligrams: int
    pieces: int
    population_code: str
    region_code: str
    basin: str
    latitude: float
    longitude: float
    is_held: bool
    released_at: dt.datetime | None
    released_by: str
    release_reason: str
    archived_at: dt.datetime | None
    #: Made by splitting or mixing other lots, which were checked themselves.
    is_made: bool = False

    @property
    def by_weight(self) -> bool:
        """Whether it was weighed, not counted."""
        return self.milligrams > 0 or not self.pieces

    @property
    def amount(self) -> int:
        """Milligrams, or pieces."""
        return self.milligrams if self.by_weight else self.pieces

    def under(self, permit_id: int | None) -> Taking:
        """The same under another permit."""
        return replace(self, permit_id=permit_id)


def read_takings(session: Session, *where: ColumnElement[bool]) -> list[Taking]:
    """Lots in the order in which they were written down, archived ones too: what was taken stays taken."""
    query = (
        select(
            Lot.id, Lot.code, Lot.permit_id, Lot.permit_number, Lot.species_id, Species.scientific_name,
            Lot.collected_on, Lot.reported_on,
            _collected((Measure.FRUIT, Measure.SEED), func.coalesce(Lot.amount_mg, 0) + Lot.fruit_mg),
            _collected((Measure.PIECES,), func.coalesce(Lot.pieces, 0)),
            Population.code, Population.region_code, Population.basin, Population.latitude, Population.longitude,
            Lot.is_held, Lot.released_at, Lot.released_by, Lot.release_reason, Lot.archived_at, _made(),
        )
        .join(Species, Lot.species_id == Species.id)
        .join(Population, Lot.population_id == Population.id)
        .where(*where)
        .order_by(Lot.id)
    )  # fmt: skip
    return [Taking(*_whole(row)) for row in session.execute(query)]


def takings_of(session: Session, lot_ids: Iterable[int]) -> Iterator[Taking]:
    """Takings of these lots, some thousand in one query."""
    wanted = sorted(set(lot_ids))
    for first in range(0, len(wanted), _PORTION):
        yield from read_takings(session, Lot.id.in_(wanted[first : first + _PORTION]))


def _whole(row: Sequence[Any]) -> Iterator[Any]:
    # PostgreSQL sums whole numbers to decimals.
    for at, value in enumerate(row):
        yield int(value) if at in {8, 9} else value


def _collected(measures: Sequence[Measure], without_ledger: Any) -> Any:
    """What was collected by the ledger; the present amount of a lot whose ledger has not begun."""
    undone = aliased(Movement)
    mistaken = exists().where(undone.id == Movement.reverses_id, undone.kind.in_(_COLLECTING))
    counts = or_(Movement.kind.in_(_COLLECTING), and_(Movement.kind == MovementKind.REVERSAL, mistaken))
    booked = (
        select(func.coalesce(func.sum(Movement.change), 0))
        .where(Movement.lot_id == Lot.id, Movement.measure.in_(measures), counts)
        .correlate(Lot)
        .scalar_subquery()
    )
    has_ledger = exists().where(Movement.lot_id == Lot.id).correlate(Lot)
    return case((has_ledger, booked), else_=without_ledger)


def _made() -> Any:
    """Whether seed of other lots came in; a lot that is merely empty was not made so."""
    return (
        exists().where(Movement.lot_id == Lot.id, Movement.kind.in_(_MAKING), Movement.change > 0).correlate(Lot)
    )
