"""What the page of one batch shows beside its own columns."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Count, Lot, Placement, PlantMovement, Quarantine, Site, Task
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Stage
from nursery.services.batches.dispatching import dispatched_to
from nursery.services.batches.estimating import estimate
from nursery.services.batches.origins import lots_of
from nursery.services.batches.placing import standing
from nursery.services.batches.reading import Entry, read_ledger
from nursery.services.batches.staging import next_stage
from nursery.services.batches.sums import PlantSums, plant_sums
from nursery.services.costing.panel import BatchCosts, read_batch_costs
from nursery.services.forecast.reading import BatchForecast, batch_outlook
from nursery.services.forecast.story import Point
from nursery.services.health.quarantine import standing_quarantine
from nursery.services.work.reading import batch_tasks

#: A second count so soon after the first is of the same stage; our own bound, no source.
SAME_STAGE_DAYS = 14


@dataclass(frozen=True, slots=True)
class CountShown:
    """A count, and how many trays more a half interval of 10 % would have taken."""

    count: Count
    more_trays: int

    @property
    def ungraded(self) -> int:
        """Plants that were counted and given no size, where others were."""
        return ungraded(self.count)


@dataclass(frozen=True, slots=True)
class Graded:
    """Sizes that come to more plants than are alive since."""

    count: Count
    plants: int
    alive: int


@dataclass(frozen=True, slots=True)
class Related:
    """Another batch that plants came from or went to."""

    batch_id: int
    code: str
    plants: int


@dataclass(frozen=True)
class BatchPage:
    """All of it."""

    sums: PlantSums
    ledger: Sequence[Entry]
    counts: Sequence[CountShown]
    places: Sequence[Placement]
    #: Trays that stand on no bench.
    unplaced: int
    lots: Sequence[tuple[Lot, float]]
    came_from: Sequence[Related]
    went_into: Sequence[Related]
    sent: Sequence[tuple[Site, int]]
    quarantine: Quarantine | None
    forecast: BatchForecast | None
    #: How its forecast moved, count by count.
    story: Sequence[Point]
    next_stage: Stage
    #: The latest sizes, where plants have left or died since.
    outgraded: Graded | None
    costs: BatchCosts
    #: The next open tasks, each with what is to be done.
    tasks: Sequence[tuple[Task, str]]


def read_page(session: Session, batch: Batch, *, today: dt.date) -> BatchPage:
    """Read everything in a fixed number of queries."""
    places = standing(session, batch)
    sent = dispatched_to(session, batch)
    sites = {site.id: site for site in session.scalars(select(Site).where(Site.id.in_(sent)))}
    came, went = _related(session, batch)
    outlook = batch_outlook(session, batch.id, today=today)
    return BatchPage(
        sums=plant_sums(session, [batch.id])[batch.id],
        ledger=read_ledger(session, batch),
        counts=[CountShown(count, _more(count)) for count in reversed(batch.counts)],
        places=places,
        unplaced=batch.trays - sum(one.trays for one in places),
        lots=lots_of(session, [batch])[batch.id],
        came_from=came,
        went_into=went,
        sent=[(sites[site_id], plants) for site_id, plants in sent.items()],
        quarantine=standing_quarantine(session, batch),
        forecast=outlook[0] if outlook else None,
        story=outlook[1] if outlook else [],
        next_stage=stage_to_count(batch, today),
        outgraded=outgraded(batch),
        costs=read_batch_costs(session, batch),
        tasks=batch_tasks(session, batch.id),
    )


def stage_to_count(batch: Batch, today: dt.date) -> Stage:
    """The stage that the next count is most likely of."""
    if batch.stage is Stage.SOWN:
        return Stage.EMERGED
    in_flats = batch.cells_per_tray is None and batch.stage is Stage.EMERGED
    standing_counts = [count for count in batch.counts if count.withdrawn_at is None]
    last = max((count.counted_on for count in standing_counts), default=batch.stage_on)
    if in_flats or (today - last).days < SAME_STAGE_DAYS:
        return batch.stage
    return next_stage(batch.stage)


def ungraded(count: Count) -> int:
    """Plants of a count that were given no size, where others were."""
    return max(count.plants - sum(count.grades.values()), 0) if count.grades else 0


def outgraded(batch: Batch) -> Graded | None:
    """The latest sizes of a batch, where they come to more plants than are alive by now."""
    sized = [count for count in batch.counts if count.withdrawn_at is None and count.grades]
    if not sized:
        return None
    plants = sum((sized[-1].grades or {}).values())
    return Graded(sized[-1], plants, batch.alive) if 0 < batch.alive < plants else None


def _more(count: Count) -> int:
    if count.sample is None or count.withdrawn_at is not None:
        return 0
    return estimate(plants=None, sample=count.sample, trays=count.trays).more_trays


def _related(session: Session, batch: Batch) -> tuple[list[Related], list[Related]]:
    """Batches that plants came from, and those they went into; what was taken back left out."""
    undone = select(PlantMovement.reverses_id).where(PlantMovement.reverses_id.is_not(None))
    rows = session.execute(
        select(PlantMovement.other_batch_id, Batch.code, PlantMovement.change)
        .join(Batch, PlantMovement.other_batch_id == Batch.id)
        .where(
            PlantMovement.batch_id == batch.id,
            PlantMovement.kind.in_((PlantMovementKind.SPLIT, PlantMovementKind.MERGED)),
            PlantMovement.id.not_in(undone),
        )
        .order_by(PlantMovement.id)
    ).all()
    found = [Related(other or 0, code, change) for other, code, change in rows]
    came = [one for one in found if one.plants > 0]
    return came, [Related(one.batch_id, one.code, -one.plants) for one in found if one.plants < 0]
