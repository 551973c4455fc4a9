"""What was collected: each lot with where, when and how much, as permits count it.

What the ledger calls collected counts, and what a recount found beyond it: it came from the same stand on the
same day, so it was taken under the same permit. A recount that finds less takes nothing back, for seed may have
dried or been lost. What a recount adds to seed that was extracted, split off or mixed does not count: the fruit,
or the lots that went in, were measured themselves.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import ColumnElement, and_, case, func, select
from sqlalchemy.orm import Session, aliased

from nursery.models import Lot, Population, Species
from nursery.models.movements import Measure, Movement, MovementKind

#: Movements that say how much was collected; what happens to the seed later does not change it.
_COLLECTING = (MovementKind.COLLECTED, MovementKind.OPENING)
#: What cleaning took away and a recount gives back was collected once, not twice.
_FINDING = (MovementKind.RECOUNTED, MovementKind.CLEANED)
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
    #: Made by splitting or mixing other lots, which were checked themselves, or collected by somebody else.
    is_made: bool = False
    #: What recounts found beyond the collected, milligrams or pieces; it is within the amounts above.
    found: int = 0
    #: Milligrams of it that were weighed as fruit.
    fruit_mg: int = 0
    population_id: int = 0
    #: Not collected yet: it comes after all that was.
    is_planned: bool = False

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
    booked = _booked(where)
    query = (
        select(
            Lot.id, Lot.code, Lot.permit_id, Lot.permit_number, Lot.species_id, Species.scientific_name,
            Lot.collected_on, Lot.reported_on, Lot.amount_mg, Lot.fruit_mg, Lot.pieces,
            Population.code, Population.region_code, Population.basin, Population.latitude, Population.longitude,
            Lot.is_held, Lot.released_at, Lot.released_by, Lot.release_reason, Lot.archived_at, Lot.population_id,
            Lot.is_received, *booked.c,
        )
        .join(Species, Lot.species_id == Species.id)
        .join(Population, Lot.population_id == Population.id)
        .outerjoin(booked, booked.c.lot_id == Lot.id)
        .where(*where)
        .order_by(Lot.id)
    )  # fmt: skip
    return [_taking(*row) for row in session.execute(query)]


def takings_of(session: Session, lot_ids: Iterable[int]) -> Iterator[Taking]:
    """Takings of these lots, some thousand in one query."""
    wanted = sorted(set(lot_ids))
    for first in range(0, len(wanted), _PORTION):
        yield from read_takings(session, Lot.id.in_(wanted[first : first + _PORTION]))


def _booked(where: Collection[ColumnElement[bool]]) -> Any:
    """By lot: what was collected, found and extracted in each measure; a reversal undoes its kind."""
    undone = aliased(Movement)
    kind = case((Movement.kind == MovementKind.REVERSAL, undone.kind), else_=Movement.kind)

    def sum_of(kinds: Collection[MovementKind], measure: Measure) -> Any:
        counts = and_(kind.in_(kinds), Movement.measure == measure)
        return func.coalesce(func.sum(case((counts, Movement.change), else_=0)), 0)

    made = and_(Movement.kind.in_(_MAKING), Movement.change > 0)
    sums = [
        sum_of(kinds, measure)
        for kinds in (_COLLECTING, _FINDING, (MovementKind.EXTRACTED,))
        for measure in (Measure.FRUIT, Measure.SEED, Measure.PIECES)
    ]
    return (
        select(
            Movement.lot_id.label("lot_id"),
            func.sum(case((made, 1), else_=0)).label("made"),
            *(column.label(f"sum_{number}") for number, column in enumerate(sums)),
        )
        .outerjoin(undone, undone.id == Movement.reverses_id)
        .where(Movement.lot_id.in_(select(Lot.id).where(*where)))
        .group_by(Movement.lot_id)
        .subquery()
    )


def _taking(*row: Any) -> Taking:
    facts, (seed, fruit, pieces), rest = row[:8], row[8:11], row[11:21]
    population_id, is_received, in_ledger, made, *sums = row[21:]
    if in_ledger is None:  # the ledger of this lot has not begun
        taking = Taking(*[*facts, (seed or 0) + fruit, pieces or 0, *rest])
        return replace(taking, is_made=is_received, fruit_mg=fruit, population_id=population_id)
    # PostgreSQL sums whole numbers to decimals.
    whole = [int(value) for value in sums]
    collected, found, extracted = whole[:3], whole[3:6], whole[6:]
    gains = [max(0, gain) if not made and grown <= 0 else 0 for gain, grown in zip(found, extracted, strict=True)]
    weight, count = collected[0] + collected[1] + gains[0] + gains[1], collected[2] + gains[2]
    taking = Taking(*[*facts, weight, count, *rest])
    return replace(
        taking,
        is_made=bool(made) or is_received,
        found=gains[0] + gains[1] if taking.by_weight else gains[2],
        fruit_mg=collected[0] + gains[0],
        population_id=population_id,
    )
