"""Batches that grow, where their trays stand, and how long they will, by the phases still before them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from sqlalchemy import ColumnElement, and_, or_, select
from sqlalchemy.orm import Session, joinedload, selectinload

from nursery.catalog import Protocol
from nursery.models import Batch, Bench, Container, Placement, Plan, PlanLine, Site, Species, Target
from nursery.planning.growing.ready_days import is_ahead
from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.rounding import whole
from nursery.planning.space.footprint import FLAT_M2
from nursery.planning.space.occupancy import STAGE_OF_PHASE, forward_spans
from nursery.planning.words import Method
from nursery.services.catalogue import effective_entries
from nursery.services.space.footprint import tray_m2
from nursery.services.space.items import Item, Items, Phases, as_days, padded

#: Names of phases with their days.
PhaseDays = list[tuple[str, int]]
#: A phase in which a batch of each stage is, for those whose protocol is not known.
_PHASE_AT = {Stage.SOWN: "emergence", Stage.EMERGED: "growing", Stage.GROWING: "growing"}


def is_growing() -> ColumnElement[bool]:
    """Batches that stand somewhere: sown and not yet counted, or with plants alive."""
    return and_(Batch.archived_at.is_(None), Batch.trays > 0, or_(Batch.stage == Stage.SOWN, Batch.alive > 0))


def read_batches(session: Session) -> Sequence[Batch]:
    """All growing batches with what their room follows from, in a fixed number of queries."""
    return session.scalars(
        select(Batch)
        .where(is_growing())
        .options(
            joinedload(Batch.container),
            joinedload(Batch.species).load_only(Species.scientific_name, Species.key),
            joinedload(Batch.line).load_only(
                PlanLine.phases, PlanLine.plant_on, PlanLine.trays, PlanLine.seeds, PlanLine.container_id
            ),
            joinedload(Batch.target)
            .load_only(Target.priority, Target.site_id)
            .joinedload(Target.site)
            .load_only(Site.name),
            selectinload(Batch.placements).joinedload(Placement.bench),
        )
        .order_by(Batch.id)
    ).all()


def batch_items(session: Session, batches: Sequence[Batch], plan: Plan | None, *, today: dt.date) -> Items:
    """Trays of the batches, bench by bench, with the days they stay."""
    leaving = leaving_days(session, batches, plan)
    protocols = protocol_phases(session, [batch for batch in batches if batch.line is None])
    containers = {row.id: row for row in session.scalars(select(Container))} if batches else {}
    rows: list[Item] = []
    phases = Phases.none()
    days: list[list[int]] = []
    since: list[dt.date] = []
    until: list[dt.date] = []
    for batch in batches:
        ahead = phases_ahead(batch, protocols.get(batch.id, ()), today)
        out_on = leaving.get(batch.id)
        flats, in_cells = _grounds(batch, containers)
        for bench, trays in _stands(batch):
            share = trays / batch.trays
            early = None if flats is None else flats * share
            phases.add([name for name, _length in ahead] or [""], in_cells * share, early)
            days.append([length for _name, length in ahead] or [0])
            since.append(batch.stage_on)
            until.append(dt.date.max if out_on is None else max(out_on, today + dt.timedelta(days=7)))
            rows.append(_item(batch, bench, trays, out_on))
    spans = forward_spans(
        as_days(np.array(since, dtype=object)), padded(days, phases.width, 0).astype(np.int64), phases.stages(),
        phases.ground(), as_days(np.array(until, dtype=object)), np.datetime64(today, "D"),
    )  # fmt: skip
    return Items(rows, spans)


def phases_ahead(batch: Batch, protocol: Sequence[tuple[str, int | None]], today: dt.date) -> PhaseDays:
    """Phases still before a batch: those of its plan line, else of its protocol, else one until it is due."""
    if batch.line is not None:
        listed: Sequence[tuple[str, int | None]] = [
            (phase["name"], (dt.date.fromisoformat(phase["end"]) - dt.date.fromisoformat(phase["start"])).days)
            for phase in batch.line.phases
        ]
    else:
        listed = protocol
    stage = STAGES.index(batch.stage)
    ahead = [(name, length) for name, length in listed if name in STAGE_OF_PHASE and is_ahead(stage, name)]
    known = [(name, length) for name, length in ahead if length is not None]
    if known and len(known) == len(ahead):
        return known
    if batch.stage is Stage.READY:
        return []
    due = batch.ready_on or today
    if ahead:
        # A phase counted in degree-days takes what the others leave of the time until the batch is due.
        rest = max((due - batch.stage_on).days - sum(length for _name, length in known), 0)
        warm = len(ahead) - len(known)
        return [(name, rest // warm if length is None else length) for name, length in ahead]
    return [(_PHASE_AT.get(batch.stage, "hardening"), max((due - batch.stage_on).days, 0))]


def leaving_days(session: Session, batches: Sequence[Batch], plan: Plan | None) -> Mapping[int, dt.date]:
    """The day each batch's plants are to leave: by its line, else by its target's line in the plan in force."""
    targets = {batch.target_id for batch in batches if batch.line is None and batch.target_id is not None}
    planned: Mapping[int, dt.date] = {}
    if plan is not None and targets:
        found = session.execute(select(PlanLine.target_id, PlanLine.plant_on).where(PlanLine.plan_id == plan.id))
        planned = {target_id: plant_on for target_id, plant_on in found if target_id in targets}
    return {
        batch.id: day
        for batch in batches
        if (day := batch.line.plant_on if batch.line is not None else planned.get(batch.target_id or 0))
    }


def protocol_phases(session: Session, batches: Sequence[Batch]) -> Mapping[int, Sequence[tuple[str, int | None]]]:
    """Phases by the protocol of each batch; an empty key takes the species' first of that method."""
    if not batches:
        return {}
    entries = effective_entries(session, {batch.species_id for batch in batches}, learned=False)
    found: dict[int, Sequence[tuple[str, int | None]]] = {}
    for batch in batches:
        entry = entries.get(batch.species_id)
        named = _protocol_of(batch, entry.protocols if entry else ())
        if named is not None:
            found[batch.id] = [
                (phase.key, None if phase.days is None else round(phase.days)) for phase in named.nursery
            ]
    return found


def _protocol_of(batch: Batch, protocols: Sequence[Protocol]) -> Protocol | None:
    by_key = [protocol for protocol in protocols if protocol.key == batch.protocol]
    by_method = [protocol for protocol in protocols if protocol.method == batch.method]
    return next(iter(by_key or by_method), None)


def _grounds(batch: Batch, containers: Mapping[int, Container]) -> tuple[float | None, float]:
    """Ground in m² of its flats (None where it stands in cells), and of its trays once in cells."""
    in_cells = batch.trays * tray_m2(batch.container)
    if batch.method is not Method.PRICKED_OUT or batch.cells_per_tray is not None:
        return None, in_cells if batch.cells_per_tray is not None else batch.trays * FLAT_M2
    flats = batch.trays * FLAT_M2
    line = batch.line
    container = containers.get(line.container_id or 0) if line is not None else None
    if line is not None and line.seeds and container is not None:
        trays = whole(line.trays * min(batch.seeds / line.seeds, 1.0))
        return flats, float(trays) * tray_m2(container)
    if batch.container is not None and batch.alive:
        trays = whole(batch.alive / batch.container.cells_per_tray)
        return flats, float(trays) * tray_m2(batch.container)
    return flats, flats  # how many seedlings will be pricked out is not known yet


def _stands(batch: Batch) -> Iterator[tuple[Bench | None, int]]:
    """Trays by bench; those that stand on none come last, without a bench."""
    left = batch.trays
    by_bench: dict[Bench, int] = {}
    for placement in batch.placements:
        if placement.until_on is None:
            by_bench[placement.bench] = by_bench.get(placement.bench, 0) + placement.trays
    for bench, placed in by_bench.items():
        trays = min(placed, left)
        if trays:
            yield bench, trays
        left -= trays
    if left:
        yield None, left


def _item(batch: Batch, bench: Bench | None, trays: int, out_on: dt.date | None) -> Item:
    target = batch.target
    return Item(
        batch_id=batch.id, line_id=None, nursery_id=bench.nursery_id if bench else batch.nursery_id,
        bench_id=bench.id if bench else None, code=batch.code,
        species_name=batch.species.scientific_name, site_name=target.site.name if target else "", trays=trays,
        plants=batch.alive, priority=target.priority if target else 0, out_on=out_on,
    )  # fmt: skip
