"""Seed collected in the season's months, lot by lot: what, where, of how many mothers, under which permit."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from sqlalchemy import ColumnElement, case, func, select
from sqlalchemy.orm import Session

from nursery.models import Lot, Movement, Permit, Population
from nursery.models.movements import Measure, MovementKind
from nursery.services.season_report.scope import Scope

#: How material comes into a lot that was collected; a lot mixed or split off holds seed of others.
_GAINED = (MovementKind.OPENING, MovementKind.COLLECTED, MovementKind.EXTRACTED, MovementKind.CLEANED)


@dataclass(frozen=True)
class CollectedLot:
    """A lot collected by our own crew."""

    code: str
    species_id: int
    population_id: int
    population: str
    collected_on: dt.date
    #: Clean seed in grams, fruit not yet processed in grams, cuttings or counted seed in pieces; 0 for none.
    grams: float
    fruit_grams: float
    pieces: int
    mothers: int | None
    permit: str


def read_collected(session: Session, scope: Scope) -> list[CollectedLot]:
    """Lots of the season in one query; bought and given lots are not collected."""
    undone = select(Movement.reverses_id).where(Movement.reverses_id.is_not(None))
    gained = (
        select(
            Movement.lot_id,
            func.sum(case((Movement.measure == Measure.SEED, Movement.change), else_=0)).label("seed"),
            func.sum(case((Movement.measure == Measure.PIECES, Movement.change), else_=0)).label("pieces"),
        )
        .where(Movement.kind.in_(_GAINED), Movement.id.not_in(undone), Movement.measure != Measure.FRUIT)
        .group_by(Movement.lot_id)
        .subquery()
    )
    rows = session.execute(
        select(
            Lot.code, Lot.species_id, Lot.population_id, Population.name, Lot.collected_on, gained.c.seed,
            Lot.fruit_mg, gained.c.pieces, Lot.mother_plants, func.coalesce(Permit.number, Lot.permit_number),
        )
        .join(Lot.population)
        .outerjoin(Lot.permit)
        .outerjoin(gained, gained.c.lot_id == Lot.id)
        .where(
            Lot.archived_at.is_(None), Lot.is_received.is_(False),
            Lot.collected_on.between(scope.first, scope.last),
            Lot.id.not_in(select(Movement.lot_id).where(_made_of_others())),
        )
        .order_by(Lot.collected_on, Lot.code)
    )  # fmt: skip
    return [
        CollectedLot(
            code, species_id, population_id, name, day, (seed or 0) / 1000, fruit / 1000, int(pieces or 0),
            mothers, permit,
        )
        for code, species_id, population_id, name, day, seed, fruit, pieces, mothers, permit in rows
    ]  # fmt: skip


def _made_of_others() -> ColumnElement[bool]:
    return Movement.kind.in_((MovementKind.SPLIT, MovementKind.MIXED)) & (Movement.change > 0)
