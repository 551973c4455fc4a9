"""Plants that batches sent to sites, and batches grown of lots, through splits and mergers of batches.

What was planted of a batch at a site is told by its planting; only what was sent and not yet planted is told here,
so that no plant counts twice.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from sqlalchemy import ColumnElement, case, func, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Planting, PlantMovement, Site, Species
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Stage
from nursery.services.batches.origins import batch_lots
from nursery.services.dispatches.waiting import waiting_by_site
from nursery.services.flows.reading import lot_codes, parts_of

_JOINS = (PlantMovementKind.SPLIT, PlantMovementKind.MERGED)


class Sent(NamedTuple):
    """Plants of one lot that a batch sent to a site and that no planting tells of yet; ``id`` is the batch's."""

    id: int
    lot_id: int
    lot_code: str
    site_id: int
    site_code: str
    site_name: str
    day: dt.date
    plants: float
    batch_code: str


class BatchFacts(NamedTuple):
    """A batch as it stands."""

    id: int
    code: str
    species: str
    stage: Stage
    sown_on: dt.date
    alive: int


class SentPlants(NamedTuple):
    """Plants that a batch sent to a site, less those that came back, whatever is decided about them, and those
    that a planting tells of."""

    batch_id: int
    batch_code: str
    site_id: int
    site_code: str
    site_name: str
    day: dt.date
    plants: int


def read_sent(
    session: Session, *, site_id: int | None = None, batch_ids: Iterable[int] | None = None
) -> list[Sent]:
    """By batch, site and lot, oldest first; of one site or of some batches."""
    rows = read_sent_plants(session, site_id=site_id, batch_ids=batch_ids)
    shares = batch_lots(session, {row.batch_id for row in rows})
    codes = lot_codes(session, {lot_id for found in shares.values() for lot_id in found})
    return [
        Sent(
            row.batch_id, lot_id, codes[lot_id], row.site_id, row.site_code, row.site_name, row.day,
            row.plants * share, row.batch_code,
        )
        for row in rows
        for lot_id, share in sorted(shares[row.batch_id].items())
    ]  # fmt: skip


def read_sent_plants(
    session: Session, *, site_id: int | None = None, batch_ids: Iterable[int] | None = None
) -> list[SentPlants]:
    """The same whatever the lots."""
    where: list[list[ColumnElement[bool]]] = [[]]
    if batch_ids is not None:
        where = [[PlantMovement.batch_id.in_(some)] for some in parts_of(batch_ids)]
    found: list[SentPlants] = []
    for conditions in where:
        found += _sent(session, [*conditions, *([PlantMovement.site_id == site_id] if site_id else [])])
    return sorted(found, key=lambda row: (row.day, row.batch_id, row.site_id))


def _sent(session: Session, where: list[ColumnElement[bool]]) -> list[SentPlants]:
    # What takes a dispatch back carries its site too, so that the sum is what is there.
    gone = (
        select(
            PlantMovement.batch_id,
            PlantMovement.site_id,
            (-func.sum(PlantMovement.change)).label("plants"),
            func.max(case((PlantMovement.kind == PlantMovementKind.DISPATCHED, PlantMovement.happened_on))).label(
                "day"
            ),
        )
        .where(PlantMovement.site_id.is_not(None), *where)
        .group_by(PlantMovement.batch_id, PlantMovement.site_id)
        .subquery()
    )
    planted = (
        select(Planting.batch_id, Planting.site_id, func.sum(Planting.plants).label("plants"))
        .where(Planting.batch_id.is_not(None), Planting.archived_at.is_(None))
        .group_by(Planting.batch_id, Planting.site_id)
        .subquery()
    )
    back = waiting_by_site()
    rows = session.execute(
        select(
            Batch.id, Batch.code, Site.id, Site.code, Site.name, gone.c.day,
            gone.c.plants - func.coalesce(planted.c.plants, 0) - func.coalesce(back.c.plants, 0),
        )
        .join(gone, gone.c.batch_id == Batch.id)
        .join(Site, gone.c.site_id == Site.id)
        .outerjoin(planted, (planted.c.batch_id == gone.c.batch_id) & (planted.c.site_id == gone.c.site_id))
        .outerjoin(back, (back.c.batch_id == gone.c.batch_id) & (back.c.site_id == gone.c.site_id))
        .where(gone.c.day.is_not(None))
    )  # fmt: skip
    return [
        SentPlants(batch_id, code, site, site_code, name, day, int(plants))
        for batch_id, code, site, site_code, name, day, plants in rows
        if plants > 0
    ]


def batches_of_lots(session: Session, shares: Mapping[int, float]) -> dict[int, float]:
    """Share of each batch that comes from these lots, weighed by the share of each lot, by the batch's id."""
    ids: set[int] = set()
    for some in parts_of(shares):
        down = select(Batch.id.label("id")).where(Batch.lot_id.in_(some)).cte("grown", recursive=True)
        down = down.union(
            select(PlantMovement.batch_id)
            .join(down, PlantMovement.other_batch_id == down.c.id)
            .where(PlantMovement.kind.in_(_JOINS), PlantMovement.change > 0)
        )
        ids |= set(session.scalars(select(down.c.id)))
    return {
        batch_id: sum(share * shares.get(lot_id, 0.0) for lot_id, share in found.items())
        for batch_id, found in batch_lots(session, ids).items()
    }


def read_batches(session: Session, ids: Iterable[int]) -> dict[int, BatchFacts]:
    """Facts of batches by id."""
    query = select(Batch.id, Batch.code, Species.scientific_name, Batch.stage, Batch.sown_on, Batch.alive).join(
        Species, Batch.species_id == Species.id
    )
    return {
        row[0]: BatchFacts(*row)
        for some in parts_of(ids)
        for row in session.execute(query.where(Batch.id.in_(some)))
    }
