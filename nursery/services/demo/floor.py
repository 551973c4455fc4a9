"""The demo's crops, one that grows and one that is planted: planned in a winter and sown from that plan."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from nursery.models import Batch, Container, Draw, Lot, Plan, PlanLine, Site, Species
from nursery.models.movements import MovementKind
from nursery.models.types import utc_now
from nursery.planning.words import Method
from nursery.services.batches.sowing import sow
from nursery.services.demo import ledger, targets
from nursery.services.demo.dating import finished_day, floor_day
from nursery.services.demo.lots import USED_UP
from nursery.services.demo.origin import write_decisions
from nursery.services.ledger import seed_measure, take_from_lot
from nursery.services.planning import adopt_plan, make_plan

#: Flats of pricked-out seed hold about so many seeds; common practice, no source.
_SEEDS_A_FLAT = 600
#: Days after the last sowing at which what is left of the lots is thrown away.
_CLEARED_AFTER = 30


@dataclass(frozen=True, slots=True)
class Crop:
    """A crop: its tables begin with its name."""

    name: str
    planned_on: dt.date
    #: What its plan is called.
    label: str


def crops(today: dt.date) -> list[Crop]:
    """The crop of the season that is over, and the one that grows."""
    return [
        Crop("finished", finished_day(today), "Plan of the season before"),
        Crop("floor", floor_day(today), "Plan of the running crop"),
    ]


def write_crop(
    session: Session, actor: str, crop: Crop, lots: Sequence[Lot], sites: dict[str, Site],
    species: dict[str, Species], today: dt.date,
) -> list[Batch]:  # fmt: skip
    """Plan the targets of a crop with the lots there were, and sow what the plan asked for up to today."""
    wanted = targets.targets(crop.planned_on, sites, species, table=f"{crop.name}_targets")
    session.add_all([*lots, *wanted])
    session.flush()
    ledger.write_movements(session, actor, lots, crop.planned_on)
    if crop.name == "finished":
        write_decisions(session, actor, "finished_decisions", lots, sites, crop.planned_on)
    plan = make_plan(session, actor, today=crop.planned_on, label=crop.label)
    adopt_plan(session, actor, plan_id=plan.id)
    batches = [
        _sow(session, actor, line, draw, today)
        for line in _lines(session, plan)
        if line.sow_on <= today
        for draw in line.draws
    ]
    _use_up(session, actor, lots, batches, crop.planned_on, today)
    return batches


def _lines(session: Session, plan: Plan) -> Sequence[PlanLine]:
    query = select(PlanLine).where(PlanLine.plan_id == plan.id).options(selectinload(PlanLine.draws))
    return session.scalars(query.order_by(PlanLine.sow_on, PlanLine.id)).all()


def _sow(session: Session, actor: str, line: PlanLine, draw: Draw, today: dt.date) -> Batch:
    lot = session.get_one(Lot, draw.lot_id)
    cells_per_tray = max(line.cells_sown // max(line.trays, 1), 1)
    in_flats = line.method is Method.PRICKED_OUT
    trays = -(-draw.seeds // _SEEDS_A_FLAT) if in_flats else -(-draw.cells // cells_per_tray)
    return sow(
        session, actor, lot=lot, seeds=draw.seeds, trays=trays,
        container_id=None if in_flats else line.container_id, method=line.method, protocol=line.protocol,
        sown_on=line.sow_on, today=today, target_id=line.target_id, line_id=line.id,
        seeds_per_cell=line.seeds_per_cell, nursery_id=_nursery(session, line),
    )  # fmt: skip


def _nursery(session: Session, line: PlanLine) -> int | None:
    return None if line.container_id is None else session.get_one(Container, line.container_id).nursery_id


def _use_up(
    session: Session,
    actor: str,
    lots: Sequence[Lot],
    batches: Sequence[Batch],
    planned_on: dt.date,
    today: dt.date,
) -> None:
    """What is left of the lots is old seed: it is thrown away, and the lots are put aside."""
    last: Mapping[int | None, dt.date] = {batch.lot_id: batch.sown_on for batch in batches}
    for lot in lots:
        cleared_on = last.get(lot.id, planned_on) + dt.timedelta(days=_CLEARED_AFTER)
        if cleared_on > today:
            continue
        if left := lot.amount_mg or lot.pieces or 0:
            take_from_lot(
                session, actor, lot=lot, kind=MovementKind.DISCARDED, measure=seed_measure(lot), amount=left,
                reason="Left over from sowing, too old to keep (example)", happened_on=cleared_on, today=today,
            )  # fmt: skip
        lot.archived_at, lot.notes = utc_now(), USED_UP
