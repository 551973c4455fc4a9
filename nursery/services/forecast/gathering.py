"""Batches with all that their forecast rests on, in a fixed number of queries whatever their number."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import ColumnElement, case, func, or_, select
from sqlalchemy.orm import Session, aliased

from nursery.catalog import Protocol, SpeciesEntry
from nursery.models import Batch, Container, Lot, Nursery, PlantMovement, Target
from nursery.models.batches import Count, PlantMovementKind
from nursery.planning.growing.forecast import Outlook, outlook
from nursery.planning.growing.ready_days import is_ahead, ready_days
from nursery.planning.growing.standing import AHEAD, EMERGED, Rates, Standing, starts_of
from nursery.planning.growing.words import STAGES, Cause
from nursery.services.dispatches.waiting import read_waiting
from nursery.services.forecast.rates import RateBook

#: As `planning.gather` takes it for a nursery without normals; common practice, no source.
UNKNOWN_NORMAL_C = 15.0
#: Columns of `_batches` that say how a batch was sown.
SOWN = (
    "id", "code", "species_id", "lot_id", "target_id", "line_id", "method", "protocol", "sown_on", "ready_on",
    "seeds", "seeds_per_cell", "viability", "trays", "cells_per_tray", "stage", "stage_on", "alive",
    "archived_at",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Moment:
    """A batch as it was known at one moment: at sowing, after a count, or today."""

    #: Row of `Known.batches`.
    at: int
    #: Position in `STAGES` of the count it rests on; 0 before any.
    stage: int = 0
    plants: int = 0
    counted: int = 0
    low: int = 0
    high: int = 0
    is_thinned: bool = False
    #: The day whose rates hold for it; None for today's.
    on: dt.date | None = None


@dataclass(frozen=True)
class Known:
    """Batches (rows of `_batches`) with their protocols, standing counts, and plants sent out by batch."""

    batches: Sequence[Any]
    protocols: Sequence[Protocol]
    counts: Mapping[int, Sequence[Count]]
    #: ``(day, target_id or None, plants)`` of each act; plants that came back are below zero.
    dispatched: Mapping[int, Sequence[tuple[dt.date, int | None, int]]]
    #: The day on which each batch was thinned first.
    thinned: Mapping[int, dt.date]
    #: None where there is no batch.
    rates: RateBook | None

    def today(self) -> list[Moment]:
        """Every batch as it stands."""
        return [
            self._now(at, batch, self.counts[batch.id][-1] if self.counts.get(batch.id) else None)
            for at, batch in enumerate(self.batches)
        ]

    def after(self, at: int, count: Count) -> Moment:
        """A batch right after a count."""
        stage = max(STAGES.index(count.stage), EMERGED if count.plants else 0)
        thinned = self.thinned.get(self.batches[at].id, dt.date.max) <= count.counted_on
        return Moment(at, stage, count.plants, count.plants, count.low, count.high, thinned, count.counted_on)

    def _now(self, at: int, batch: Any, count: Count | None) -> Moment:
        if count is None:
            stage = STAGES.index(batch.stage)
            if not (batch.alive or stage or batch.archived_at):
                return Moment(at)
            # Parted from another batch its plants are known without a count of its own; put aside it has none.
            return Moment(at, max(stage, EMERGED), *(batch.alive,) * 4)
        moment = self.after(at, count)
        # What left the batch since the count took its part of the doubt along.
        part = min(batch.alive / count.plants, 1.0) if count.plants else 0.0
        below, above = (round(width * part) for width in (count.plants - count.low, count.high - count.plants))
        return Moment(
            at, max(moment.stage, EMERGED if batch.alive else 0), batch.alive, batch.alive,
            max(batch.alive - below, 0), batch.alive + above, batch.id in self.thinned,
        )  # fmt: skip

    def outlook(self, moments: Sequence[Moment]) -> Outlook:
        """Ready plants from each of these moments."""
        rows = [self.batches[moment.at] for moment in moments]
        ways = [self._protocol(moment) for moment in moments]
        rates = [[protocol.rates[name] for name in AHEAD] for protocol in ways]
        shape = (len(rows), len(AHEAD))

        def whole(values: Sequence[int | None]) -> np.ndarray:
            return np.array([value or 0 for value in values], np.int64)

        standing = Standing(
            method=np.array([str(row.method) for row in rows], np.str_),
            stage=whole([moment.stage for moment in moments]),
            plants=whole([moment.plants for moment in moments]),
            counted=whole([moment.counted for moment in moments]),
            low=whole([moment.low for moment in moments]),
            high=whole([moment.high for moment in moments]),
            seeds=whole([row.seeds for row in rows]),
            seeds_per_cell=whole([row.seeds_per_cell for row in rows]),
            cells=whole([row.trays * (row.cells_per_tray or 0) for row in rows]),
            viability=np.array([np.nan if row.viability is None else row.viability for row in rows], np.float64),
            is_tested=np.array([row.germination is not None for row in rows], np.bool_),
            is_thinned=np.array([moment.is_thinned for moment in moments], np.bool_),
        )
        means = np.array([[rate.mean for rate in each] for each in rates], np.float64).reshape(shape)
        weights = np.array([[rate.weight for rate in each] for each in rates], np.float64).reshape(shape)
        return outlook(starts_of(standing, Rates(means, weights)))

    def _protocol(self, moment: Moment) -> Protocol:
        batch = self.batches[moment.at]
        if moment.on is None or self.rates is None:
            return self.protocols[moment.at]
        entry = self.rates.entry(batch.species_id, moment.on)
        return self.protocols[moment.at] if entry is None else _protocol(entry, batch)

    def ready_days(self, today: dt.date) -> list[dt.date | None]:
        """When each batch will be ready: what is not ready yet is so today at the earliest."""
        phases = [
            [phase for phase in protocol.nursery if is_ahead(STAGES.index(batch.stage), phase.key)]
            for batch, protocol in zip(self.batches, self.protocols, strict=True)
        ]
        shape = (len(phases), max((len(each) for each in phases), default=0))
        days, degree_days, base_c = np.zeros(shape, np.int64), np.zeros(shape), np.zeros(shape)
        for row, each in enumerate(phases):
            for column, phase in enumerate(each):
                days[row, column] = round(phase.days or 0)
                degree_days[row, column], base_c[row, column] = phase.degree_days or 0.0, phase.base_c or 0.0
        since = np.array([batch.stage_on for batch in self.batches], "datetime64[D]")
        normals = np.array([_normals(batch.monthly_mean_c) for batch in self.batches], np.float64).reshape(-1, 12)
        found = ready_days(since, days, degree_days, base_c, normals)
        return [
            batch.ready_on if day is None else max(day, today) if batch.stage != STAGES[-1] else day
            for batch, day in zip(self.batches, found.tolist(), strict=True)
        ]


def know(
    session: Session, *, batch_ids: Collection[int] | None = None, species_id: int | None = None,
    learned: bool = True,
) -> Known:  # fmt: skip
    """Read batches; all of them, or those named, or those of one species. Nine queries.

    Rates are the learned ones unless ``learned`` is false.
    """
    wanted: list[ColumnElement[bool]] = []
    if batch_ids is not None:
        wanted.append(Batch.id.in_(batch_ids))
    if species_id is not None:
        wanted.append(Batch.species_id == species_id)
    rows = session.execute(_batches(*wanted)).all()
    if not rows:
        return Known([], [], {}, {}, {}, None)
    book = RateBook(session, {row.species_id for row in rows}, learned=learned)
    found = {row.species_id: book.entry(row.species_id) for row in rows}
    # A species that has left the catalogue has no figures to forecast with.
    entries = {species: entry for species, entry in found.items() if entry is not None}
    rows = [row for row in rows if row.species_id in entries]
    counts: defaultdict[int, list[Count]] = defaultdict(list)
    standing = select(Count).where(Count.withdrawn_at.is_(None)).order_by(Count.counted_on, Count.id)
    ids = select(Batch.id).where(*wanted)
    for count in session.scalars(standing.where(Count.batch_id.in_(ids)) if wanted else standing):
        counts[count.batch_id].append(count)
    protocols = [_protocol(entries[row.species_id], row) for row in rows]
    chosen = ids if wanted else None
    return Known(rows, protocols, counts, _dispatched(session, chosen), _thinned(session, chosen), book)


def _batches(*wanted: Any) -> Any:
    home = func.coalesce(Batch.nursery_id, Container.nursery_id)
    return (
        select(*(getattr(Batch, name) for name in SOWN), Lot.germination, Nursery.monthly_mean_c)
        .outerjoin(Lot, Lot.id == Batch.lot_id)
        .outerjoin(Container, Container.id == Batch.container_id)
        .outerjoin(Nursery, Nursery.id == home)
        .where(*wanted)
        .order_by(Batch.id)
    )


def _protocol(entry: SpeciesEntry, batch: Any) -> Protocol:
    return entry.protocol_for(batch.protocol, batch.method)


def _dispatched(session: Session, ids: Any) -> dict[int, list[tuple[dt.date, int | None, int]]]:
    """Acts that sent plants out or took them back, oldest first; what was reversed counts on both days.

    Plants that came back and wait for a decision are off their site from the day they came.
    """
    undone = aliased(PlantMovement)
    site = func.coalesce(PlantMovement.site_id, undone.site_id)
    # Plants sent to another site than that of the batch's own target went there for no target.
    own = case((or_(site.is_(None), Target.site_id == site), Batch.target_id))
    kinds = (PlantMovementKind.DISPATCHED, PlantMovementKind.RETURNED)
    query = (
        select(
            PlantMovement.batch_id, PlantMovement.happened_on, PlantMovement.change,
            func.coalesce(PlantMovement.target_id, undone.target_id, own).label("target_id"),
        )
        .join(Batch, Batch.id == PlantMovement.batch_id)
        .outerjoin(Target, Target.id == Batch.target_id)
        .outerjoin(undone, undone.id == PlantMovement.reverses_id)
        .where(or_(PlantMovement.kind.in_(kinds), undone.kind.in_(kinds)))
        .order_by(PlantMovement.happened_on, PlantMovement.id)
    )  # fmt: skip
    found: defaultdict[int, list[tuple[dt.date, int | None, int]]] = defaultdict(list)
    for row in session.execute(query if ids is None else query.where(PlantMovement.batch_id.in_(ids))):
        found[row.batch_id].append((row.happened_on, row.target_id, -row.change))
    for one in read_waiting(session, ids):
        acts = found[one.batch_id]
        target_id = one.own_target_id if one.target_id is None else one.target_id
        acts.append((one.returned_on, target_id, -one.plants))
        acts.sort(key=lambda act: act[0])
    return found


def _thinned(session: Session, ids: Any) -> dict[int, dt.date]:
    countered = aliased(PlantMovement)
    query = (
        select(PlantMovement.batch_id, func.min(PlantMovement.happened_on))
        .outerjoin(countered, countered.reverses_id == PlantMovement.id)
        .where(PlantMovement.cause == Cause.THINNED, countered.id.is_(None))
        .group_by(PlantMovement.batch_id)
    )
    rows = session.execute(query if ids is None else query.where(PlantMovement.batch_id.in_(ids)))
    return {row[0]: row[1] for row in rows}


def _normals(months: Any) -> list[float]:
    return months if isinstance(months, list) and len(months) == 12 else [UNKNOWN_NORMAL_C] * 12
