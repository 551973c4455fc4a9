"""What grows or is to be sown, read for the making of tasks: lines of the plan in force, and batches."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from sqlalchemy import or_, select
from sqlalchemy.orm import Session, joinedload, selectinload

from nursery.catalog import SpeciesEntry
from nursery.catalog.entries import Phase
from nursery.models import Batch, Container, Nursery, Plan, PlanLine
from nursery.models.plans import LineStatus
from nursery.planning.growing.ready_days import is_ahead
from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.words import Method
from nursery.planning.work.ahead import date_ahead
from nursery.services.catalogue import effective_entries
from nursery.services.work_dates import can_be_grown

#: Taken for a nursery without normals, as forecasts take it (common practice, no source).
_UNKNOWN_C = 15.0


@dataclass(slots=True)
class Chain:
    """A line of the plan, or a batch, with what its tasks need to know."""

    key: str
    line: PlanLine | None
    batch: Batch | None
    species_id: int
    species_name: str
    protocol: str
    method: Method
    nursery_id: int | None
    #: ``[{name, start, end, wait_days}]`` with dates.
    phases: list[dict[str, Any]] = field(default_factory=list)
    #: Of a line: what is still to be sown of it, 0–1. Of a batch: 1.
    share: float = 1.0
    cells_missing: int = 0
    #: Of a line: seeds sown of each lot, and the last day, by batches that the plan did not know of.
    sown: dict[int | None, tuple[int, dt.date]] = field(default_factory=dict)

    @property
    def target_id(self) -> int | None:
        """What it is grown for."""
        if self.batch is not None and self.batch.target_id is not None:
            return self.batch.target_id
        return self.line.target_id if self.line is not None else None

    @property
    def southern(self) -> bool:
        """Whether months of the catalogue are moved by six."""
        nursery = self.batch.nursery if self.batch is not None else None
        return nursery is not None and nursery.latitude < 0


@dataclass(frozen=True, slots=True)
class Gathered:
    """Everything that tasks of growing are made of."""

    plan: Plan | None
    chains: Sequence[Chain]
    entries: Mapping[int, SpeciesEntry]
    southern: Collection[int]


def gather_chains(
    session: Session,
    plan: Plan | None,
    *,
    cycles: Mapping[int, int],
    targets: Collection[int] | None = None,
    batches: Collection[int] = (),
) -> Gathered:
    """Lines of the plan and batches that still grow, in a fixed number of queries.

    ``cycles`` numbers, by target, the sowing that the plan asks for: work done for an earlier one stays as it was.
    ``targets`` narrows it to some targets, and to ``batches`` beside those that are grown for them.
    """
    nurseries = {nursery.name: nursery for nursery in session.scalars(select(Nursery))}
    by_container = {row.id: row.nursery_id for row in session.execute(select(Container.id, Container.nursery_id))}
    lines = _lines(session, plan, targets)
    here = [] if targets is None else [or_(Batch.target_id.in_(targets), Batch.id.in_(batches))]
    found = session.scalars(
        select(Batch)
        .where(Batch.archived_at.is_(None), *here)
        .options(
            joinedload(Batch.line), joinedload(Batch.species), joinedload(Batch.lot), joinedload(Batch.nursery),
            joinedload(Batch.container), joinedload(Batch.target),
        )
        .order_by(Batch.id)
    ).all()  # fmt: skip
    species = {line.species_id for line in lines} | {batch.species_id for batch in found}
    entries = effective_entries(session, species)
    sown: defaultdict[int, list[Batch]] = defaultdict(list)
    for batch in found:
        if batch.target_id is not None:
            sown[batch.target_id].append(batch)
    chains = []
    for line in lines:
        cycle = cycles.get(line.target_id, 1)
        key = f"t{line.target_id}" if cycle == 1 else f"t{line.target_id}r{cycle}"
        named = nurseries.get(line.nursery_name)
        nursery_id = by_container.get(line.container_id or 0) or (named.id if named else None)
        chains.append(_line_chain(key, line, sown[line.target_id], nursery_id))
    by_target = {line.target_id: line for line in lines}
    chains += _batch_chains([batch for batch in found if _grows(batch)], entries, by_target)
    southern = {nursery.id for nursery in nurseries.values() if nursery.latitude < 0}
    return Gathered(plan, chains, entries, southern)


def _lines(session: Session, plan: Plan | None, targets: Collection[int] | None) -> Sequence[PlanLine]:
    if plan is None:
        return []
    here = [] if targets is None else [PlanLine.target_id.in_(targets)]
    return session.scalars(
        select(PlanLine)
        .where(PlanLine.plan_id == plan.id, can_be_grown(), *here)
        .options(selectinload(PlanLine.draws))
        .order_by(PlanLine.id)
    ).all()


def _line_chain(key: str, line: PlanLine, batches: Iterable[Batch], nursery_id: int | None) -> Chain:
    from_lots = int(line.basis.get("cells_from_lots", line.cells_sown))
    missing = 0 if line.status is LineStatus.SHORT else max(line.cells_sown - from_lots, 0)
    asked = sum(draw.seeds for draw in line.draws) + (line.seeds_missing if missing else 0)
    counted = counted_batches(line)
    sown: dict[int | None, tuple[int, dt.date]] = {}
    for batch in batches:
        if batch.id not in counted:
            seeds, day = sown.get(batch.lot_id, (0, batch.sown_on))
            sown[batch.lot_id] = seeds + batch.seeds, max(day, batch.sown_on)
    done = sum(seeds for seeds, _day in sown.values())
    return Chain(
        key=key, line=line, batch=None, species_id=line.species_id, species_name=line.species_name,
        protocol=line.protocol, method=line.method, nursery_id=nursery_id,
        # What grows covers a line: its batches have the tasks, but planting is the line's.
        phases=[] if (line.growing or {}).get("covered") else _dated(line.phases),
        share=max(0.0, 1 - done / asked) if asked else 0.0, cells_missing=missing,
        sown=sown,
    )  # fmt: skip


def counted_batches(line: PlanLine) -> set[int]:
    """Batches that the plan took off what the line still asks for."""
    found = (line.growing or {}).get("batches", ())
    return {int(one["batch_id"]) for one in found if "batch_id" in one}


def _grows(batch: Batch) -> bool:
    """Whether there is anything left to do for it: it was never counted, or plants of it are alive."""
    return batch.alive > 0 or batch.stage is Stage.SOWN


def _batch_chains(
    batches: Sequence[Batch], entries: Mapping[int, SpeciesEntry], lines: Mapping[int, PlanLine]
) -> list[Chain]:
    """Batches with the phases ahead of them, each from the day on which it came to its stage.

    Each goes with the line that the plan in force has for its target, else with the one it was sown for.
    """
    known = [batch for batch in batches if batch.species_id in entries]
    ahead = [_ahead(batch, entries[batch.species_id]) for batch in known]
    shape = (len(known), max((len(phases) for phases in ahead), default=0))
    days, degree_days, base_c = np.zeros(shape, np.int64), np.zeros(shape), np.zeros(shape)
    for row, phases in enumerate(ahead):
        for column, phase in enumerate(phases):
            days[row, column] = round(phase.days or 0)
            degree_days[row, column], base_c[row, column] = phase.degree_days or 0.0, phase.base_c or 0.0
    normals = [
        batch.nursery.monthly_mean_c
        if batch.nursery is not None and batch.nursery.monthly_mean_c
        else [_UNKNOWN_C] * 12
        for batch in known
    ]
    since = np.array([batch.stage_on for batch in known], "datetime64[D]")
    means = np.array(normals, np.float64).reshape(-1, 12)
    dated = date_ahead(since, days, degree_days, base_c, means).tolist()
    return [
        Chain(
            key=f"b{batch.id}", line=lines.get(batch.target_id or 0, batch.line), batch=batch,
            species_id=batch.species_id, species_name=batch.species.scientific_name, protocol=batch.protocol,
            method=batch.method, nursery_id=batch.nursery_id,
            phases=[
                {"name": phase.key, "start": first, "end": last, "wait_days": 0}
                for phase, first, last in zip(phases, edges, edges[1:], strict=False)
                if first is not None and last is not None
            ],
        )
        for batch, phases, edges in zip(known, ahead, dated, strict=True)
    ]  # fmt: skip


def _ahead(batch: Batch, entry: SpeciesEntry) -> list[Phase]:
    """Nursery phases still before a batch, by its own protocol, else the species' first of its method."""
    protocol = entry.protocol_for(batch.protocol, batch.method)
    stage = STAGES.index(batch.stage)
    return [phase for phase in protocol.nursery if is_ahead(stage, phase.key)]


def _dated(phases: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    return [
        {
            "name": phase["name"], "start": dt.date.fromisoformat(phase["start"]),
            "end": dt.date.fromisoformat(phase["end"]), "wait_days": int(phase["wait_days"]),
        }
        for phase in phases
    ]  # fmt: skip


def stage_rank(batch: Batch | None) -> int:
    """How far a batch has come; −1 for what is not sown."""
    return -1 if batch is None else STAGES.index(batch.stage)
