"""The ledger's splits and mixes around some lots, and facts of those lots; queries by layer, never by lot."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np
from sqlalchemy import ColumnElement, Select, case, func, select
from sqlalchemy.orm import Session

from nursery.models import Bag, Batch, Draw, Lot, Movement, PlanLine, Planting, Population, Site, Species, Trip
from nursery.models.movements import MovementKind
from nursery.planning.flows import Flows, link_flows
from nursery.services.batches.origins import batch_lots

#: Ids in one query; databases take at least this many.
_AT_ONCE = 5_000


class LotFacts(NamedTuple):
    """A lot with its stand, trip and permit."""

    id: int
    code: str
    species: str
    collected_on: dt.date
    year: int
    population_id: int
    population_code: str
    population_name: str
    trip_id: int | None
    trip_code: str | None
    permit_id: int | None
    permit_number: str


class Planted(NamedTuple):
    """A planting that was done."""

    id: int
    lot_id: int
    lot_code: str
    site_id: int
    site_code: str
    site_name: str
    day: dt.date
    plants: float


class Planned(NamedTuple):
    """What a plan line draws from one lot; its plants are shared out by the cells sown."""

    id: int
    lot_id: int
    lot_code: str
    site_id: int
    site_code: str
    site_name: str
    day: dt.date
    plants: float
    season: int


def _inflow() -> tuple[ColumnElement[bool], ...]:
    # As in ``ledger.shares``: what leaves a lot later, or is taken back, leaves in the shares of the act itself.
    return (Movement.kind.in_((MovementKind.SPLIT, MovementKind.MIXED)), Movement.change > 0)


def flows_above(session: Session, start: Select[Any], ids: Iterable[int]) -> Flows:
    """All that flowed into the lots of ``start`` through any chain, in one query; ``ids`` are those lots."""
    up = start.cte("ancestors", recursive=True)
    key = up.c[0]
    up = up.union(select(Movement.other_lot_id).join(up, Movement.lot_id == key).where(*_inflow()))
    return _flows(session, select(up.c[0]), ids)


def flows_below(session: Session, start: Select[Any], ids: Iterable[int]) -> Flows:
    """All that the lots of ``start`` flowed into, with all else that flowed in there, in one query."""
    down = start.cte("heirs", recursive=True)
    key = down.c[0]
    down = down.union(select(Movement.lot_id).join(down, Movement.other_lot_id == key).where(*_inflow()))
    return _flows(session, select(down.c[0]), ids)


def _flows(session: Session, lots: Any, ids: Iterable[int]) -> Flows:
    rows = session.execute(
        select(Movement.lot_id, Movement.other_lot_id, Movement.change).where(
            Movement.lot_id.in_(lots), Movement.other_lot_id.is_not(None), *_inflow()
        )
    ).all()
    table = np.array([tuple(row) for row in rows], dtype=np.int64).reshape(-1, 3)
    return link_flows(table[:, 0], table[:, 1], table[:, 2].astype(float), ids)


def read_lots(session: Session, ids: Iterable[int]) -> dict[int, LotFacts]:
    """Facts of lots by id."""
    query = (
        select(
            Lot.id, Lot.code, Species.scientific_name, Lot.collected_on, Lot.ripening_year, Population.id,
            Population.code, Population.name, Trip.id, Trip.code, Lot.permit_id, Lot.permit_number,
        )
        .join(Species, Lot.species_id == Species.id)
        .join(Population, Lot.population_id == Population.id)
        .outerjoin(Trip, Lot.trip_id == Trip.id)
    )  # fmt: skip
    found: dict[int, LotFacts] = {}
    for some in parts_of(ids):
        rows: Sequence[Any] = session.execute(query.where(Lot.id.in_(some))).all()
        found |= {row[0]: LotFacts(*row) for row in rows}
    return found


def read_bags(session: Session, ids: Iterable[int]) -> dict[int, dict[str, float]]:
    """Share of each mother, by her tag, in the lots that have bags of their own; by the lot's id."""
    found: dict[int, dict[str, float]] = {}
    for some in parts_of(ids):
        query = select(Bag.lot_id, Bag.tag, Bag.weight_mg).where(Bag.lot_id.in_(some)).order_by(Bag.id)
        for lot_id, tag, weight in session.execute(query):
            found.setdefault(lot_id, {})[tag] = float(weight)
    return {
        lot_id: {tag: weight / total for tag, weight in bags.items()}
        for lot_id, bags in found.items()
        for total in [sum(bags.values())]
    }


#: Of a batch merged from several lots, whose ledger knows better than the planting which they are.
MERGED = Batch.lot_id.is_(None) & Planting.batch_id.is_not(None)


def read_planted(session: Session, *where: ColumnElement[bool]) -> list[Planted]:
    """Plantings that are not archived, oldest first; of a merged batch a row for each of its lots."""
    rows = session.execute(
        select(
            Planting.id, Lot.id, Lot.code, Site.id, Site.code, Site.name, Planting.planted_on, Planting.plants,
            case((MERGED, Planting.batch_id)),
        )
        .join(Lot, Planting.lot_id == Lot.id)
        .join(Site, Planting.site_id == Site.id)
        .outerjoin(Batch, Planting.batch_id == Batch.id)
        .where(Planting.archived_at.is_(None), *where)
        .order_by(Planting.planted_on, Planting.id)
    ).all()  # fmt: skip
    merged = batch_lots(session, {row[8] for row in rows if row[8] is not None})
    codes = lot_codes(session, {lot_id for shares in merged.values() for lot_id in shares})
    found: list[Planted] = []
    for row in rows:
        planted = Planted(*row[:8])
        parts = sorted(merged[row[8]].items()) if row[8] is not None else [(planted.lot_id, 1.0)]
        found += [
            planted._replace(
                lot_id=lot_id, lot_code=codes.get(lot_id, planted.lot_code), plants=planted.plants * share
            )
            for lot_id, share in parts
        ]
    return found


def lot_codes(session: Session, lot_ids: Iterable[int]) -> dict[int, str]:
    """Codes of lots by id."""
    return {
        lot_id: code
        for some in parts_of(lot_ids)
        for lot_id, code in session.execute(select(Lot.id, Lot.code).where(Lot.id.in_(some)))
    }


def read_planned(session: Session, plan_id: int | None, *where: ColumnElement[bool]) -> list[Planned]:
    """Draws of a plan, earliest planting first."""
    cells = func.sum(Draw.cells).over(partition_by=Draw.line_id).label("all_cells")
    drawn = (
        select(Draw.id, Draw.line_id, Draw.lot_id, Draw.cells, cells)
        .join(PlanLine, Draw.line_id == PlanLine.id)
        .where(PlanLine.plan_id == plan_id)
        .subquery()
    )
    rows: Sequence[Any] = session.execute(
        select(
            PlanLine.id, Lot.id, Lot.code, Site.id, Site.code, Site.name, PlanLine.plant_on,
            (PlanLine.plants_to_plant - PlanLine.shortfall) * 1.0 * drawn.c.cells / drawn.c.all_cells,
            PlanLine.season,
        )
        .select_from(drawn)
        .join(PlanLine, drawn.c.line_id == PlanLine.id)
        .join(Lot, drawn.c.lot_id == Lot.id)
        .join(Site, PlanLine.site_id == Site.id)
        .where(drawn.c.all_cells > 0, *where)
        .order_by(PlanLine.plant_on, PlanLine.id, drawn.c.id)
    ).all()  # fmt: skip
    return [Planned(*row) for row in rows if row[7]]


def parts_of(ids: Iterable[int]) -> Iterator[Sequence[int]]:
    """Ids in portions that one query takes."""
    every = [int(one) for one in ids]
    for at in range(0, len(every), _AT_ONCE):
        yield every[at : at + _AT_ONCE]
