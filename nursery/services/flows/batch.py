"""Forward from a batch: the batches its plants went into, and the sites they went to; back to its lots."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Lot, Planting, PlantMovement, Site
from nursery.models.batches import PlantMovementKind
from nursery.planning.flows import link_flows, walk_on
from nursery.services import records
from nursery.services.batches.origins import lots_of
from nursery.services.flows.reading import parts_of
from nursery.services.flows.sent import BatchFacts, SentPlants, read_batches, read_sent_plants

_JOINS = (PlantMovementKind.SPLIT, PlantMovementKind.MERGED)


class PlantedOf(NamedTuple):
    """A planting of a batch."""

    id: int
    batch_id: int
    batch_code: str
    site_id: int
    site_code: str
    site_name: str
    day: dt.date
    plants: int


@dataclass(frozen=True)
class BatchOnward:
    """A batch, the lots its plants come from, and all that became of them."""

    batch: Batch
    lots: Sequence[tuple[Lot, float]]
    #: Batches that hold plants of it, itself first, each with the share that comes from it.
    batches: Sequence[tuple[BatchFacts, float]]
    sent: Sequence[SentPlants]
    plantings: Sequence[PlantedOf]
    shares: Mapping[int, float]

    @property
    def alive(self) -> float:
        """Plants of it that are alive in the nursery."""
        return sum(facts.alive * share for facts, share in self.batches)

    @property
    def gone(self) -> float:
        """Plants of it that went to sites."""
        rows: list[SentPlants | PlantedOf] = [*self.sent, *self.plantings]
        return sum(row.plants * self.shares[row.batch_id] for row in rows)


def follow_batch(session: Session, batch_id: int) -> BatchOnward:
    """A batch and what became of its plants, in a fixed number of queries."""
    batch = records.get(session, Batch, batch_id)
    shares = _shares(session, batch_id)
    facts = read_batches(session, shares)
    return BatchOnward(
        batch,
        lots_of(session, [batch])[batch_id],
        sorted(
            ((facts[one], share) for one, share in shares.items()),
            key=lambda row: (row[0].id != batch_id, -row[1], row[0].id),
        ),
        read_sent_plants(session, batch_ids=shares),
        _planted(session, shares),
        shares,
    )


def _shares(session: Session, batch_id: int) -> dict[int, float]:
    """Share of each batch that comes from this one."""
    inflow = (PlantMovement.kind.in_(_JOINS), PlantMovement.change > 0)
    down = select(Batch.id.label("id")).where(Batch.id == batch_id).cte("heirs", recursive=True)
    down = down.union(
        select(PlantMovement.batch_id).join(down, PlantMovement.other_batch_id == down.c.id).where(*inflow)
    )
    rows = session.execute(
        select(PlantMovement.batch_id, PlantMovement.other_batch_id, PlantMovement.change).where(
            PlantMovement.batch_id.in_(select(down.c.id)), PlantMovement.other_batch_id.is_not(None), *inflow
        )
    ).all()
    table = np.array([tuple(row) for row in rows], dtype=np.int64).reshape(-1, 3)
    flows = link_flows(table[:, 0], table[:, 1], table[:, 2].astype(float), [batch_id])
    # What flowed into the batch itself is followed from it, not from its sources.
    share = walk_on(flows, flows.weights({batch_id: 1.0}))
    return {int(flows.lots[at]): float(share[at]) for at in share.nonzero()[0]}


def _planted(session: Session, batch_ids: Mapping[int, float]) -> list[PlantedOf]:
    query = (
        select(
            Planting.id, Batch.id, Batch.code, Site.id, Site.code, Site.name, Planting.planted_on, Planting.plants
        )
        .join(Batch, Planting.batch_id == Batch.id)
        .join(Site, Planting.site_id == Site.id)
        .where(Planting.archived_at.is_(None))
        .order_by(Planting.planted_on, Planting.id)
    )  # fmt: skip
    return [
        PlantedOf(*row)
        for some in parts_of(batch_ids)
        for row in session.execute(query.where(Planting.batch_id.in_(some)))
    ]
