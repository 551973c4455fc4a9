"""Lines of the plan in force that are still to sow, and the bench they will take."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Container, Plan, PlanLine, Target
from nursery.models.plans import LineStatus
from nursery.planning.rounding import whole
from nursery.planning.space.footprint import FLAT_M2, flats_for, tray_ground
from nursery.planning.space.occupancy import backward_spans
from nursery.planning.words import Method
from nursery.services.space.items import Item, Items, Phases, as_days, padded
from nursery.services.work_dates import can_be_grown

#: What is left of a line when this share of it was sown is a matter of rounding.
_SOWN = 1 - 1e-6


@dataclass(frozen=True)
class LineRow:
    """A line still to sow: the record, and what of it is left."""

    row: Any
    #: Trays (of its container) and share of the line still to sow.
    trays: int
    share: float
    tray_m2: float

    @property
    def plants(self) -> int:
        """Plants that are wanted of what is still to sow: what batches already promise is not counted."""
        promised = (self.row.growing or {}).get("secured", 0)
        plants: int = round(max(self.row.plants_to_plant - promised, 0) * self.share)
        return plants

    @property
    def flats_m2(self) -> float | None:
        """Ground of the flats before pricking out; None for what is sown where it stays."""
        if self.row.method is not Method.PRICKED_OUT:
            return None
        return self.flats * FLAT_M2

    @property
    def flats(self) -> int:
        """Flats before pricking out; 0 for what is sown where it stays."""
        return int(flats_for(self.row.seeds * self.share)) if self.row.method is Method.PRICKED_OUT else 0


def read_lines(session: Session, plan: Plan | None, *, today: dt.date) -> list[LineRow]:
    """Lines of the plan that are still to sow, in one query; beds are no benches and are left out."""
    if plan is None:
        return []
    sown = (
        select(Batch.line_id, func.sum(Batch.seeds).label("seeds"))
        .where(Batch.line_id.is_not(None), Batch.archived_at.is_(None))
        .group_by(Batch.line_id)
        .subquery()
    )
    query = (
        select(
            PlanLine.id, PlanLine.target_id, PlanLine.species_id, PlanLine.species_name, PlanLine.site_name,
            PlanLine.method, PlanLine.status, PlanLine.trays, PlanLine.cells_sown, PlanLine.seeds,
            PlanLine.plants_to_plant, PlanLine.protocol, PlanLine.collect_by, PlanLine.phases,
            PlanLine.pretreat_on, PlanLine.sow_on, PlanLine.plant_on,
            PlanLine.container_id, Container.nursery_id, Container.cells_per_tray, Container.cell_volume_cm3,
            Container.tray_length_mm, Container.tray_width_mm, Container.name.label("container_name"),
            Target.priority, Target.plant_on.label("pinned_on"), Target.archived_at,
            PlanLine.basis["cells_from_lots"].as_integer().label("cells_from_lots"),
            PlanLine.basis["window"].as_json().label("window"), PlanLine.growing,
            func.coalesce(sown.c.seeds, 0).label("sown"),
        )
        .join(Target, PlanLine.target_id == Target.id)
        .outerjoin(Container, PlanLine.container_id == Container.id)
        .outerjoin(sown, sown.c.line_id == PlanLine.id)
        .where(
            PlanLine.plan_id == plan.id, can_be_grown(), PlanLine.plant_on > today, PlanLine.trays > 0,
            PlanLine.method != Method.BAREROOT, Target.archived_at.is_(None),
        )
        .order_by(PlanLine.id)
    )  # fmt: skip
    return [line for row in session.execute(query) if (line := _left(row)) is not None]


def _left(row: Any) -> LineRow | None:
    share = max(1 - row.sown / row.seeds, 0.0) if row.seeds else 1.0
    if share < 1 - _SOWN:
        return None
    trays = row.trays
    if row.status is LineStatus.SHORT and row.cells_per_tray:  # count what the seed in hand fills
        trays = -(-row.cells_from_lots // row.cells_per_tray)
    left = int(whole(trays * share))
    return LineRow(row, left, share, _tray_m2(row)) if left else None


def _tray_m2(row: Any) -> float:
    sizes = (row.tray_length_mm, row.tray_width_mm, row.cells_per_tray, row.cell_volume_cm3)
    return float(tray_ground(*(np.nan if size is None else size for size in sizes)))


def line_items(lines: Sequence[LineRow]) -> Items:
    """The lines with the days they stay, by the plan's own phases."""
    phases, starts, ends, waits = Phases.none(), [], [], []
    for line in lines:
        listed = line.row.phases
        phases.add([phase["name"] for phase in listed], line.trays * line.tray_m2, line.flats_m2)
        starts.append([phase["start"] for phase in listed])
        ends.append([phase["end"] for phase in listed])
        waits.append([int(phase["wait_days"]) for phase in listed])
    width = phases.width
    spans = backward_spans(
        as_days(padded(starts, width, None)), as_days(padded(ends, width, None)),
        padded(waits, width, 0).astype(np.int64), phases.stages(), phases.ground(),
    )  # fmt: skip
    return Items([_item(line) for line in lines], spans)


def _item(line: LineRow) -> Item:
    row = line.row
    return Item(
        batch_id=None, line_id=row.id, nursery_id=row.nursery_id, bench_id=None, code="",
        species_name=row.species_name, site_name=row.site_name, trays=line.trays,
        plants=line.plants, priority=row.priority, out_on=row.plant_on,
    )  # fmt: skip
