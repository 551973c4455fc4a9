"""Money spent and to be spent, as pools that carriers bear."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from sqlalchemy import exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from nursery.models import (
    Batch,
    Container,
    Count,
    Expense,
    Lot,
    Person,
    PlanLine,
    Supply,
    SupplyMovement,
    Task,
    WorkTime,
)
from nursery.models.supplies import SupplyKind, SupplyMovementKind
from nursery.planning.work.costs import Part, substrate_litres
from nursery.planning.work.times import StandardTime
from nursery.planning.work.words import Job
from nursery.services.costing.line_work import line_hours, plants_to_come, sowable
from nursery.services.costing.prices import Prices

#: Their hours are in the price of seed.
OF_SEED = (Job.NOTICE, Job.COLLECT, Job.RETEST)
_PARTS = {SupplyKind.CONTAINER: Part.CONTAINERS, SupplyKind.SUBSTRATE: Part.SUBSTRATE}


@dataclass(frozen=True, slots=True)
class Pool:
    """Money of one part with the quantity behind it, and what says who bears it; nothing said is all."""

    part: Part
    money: float
    quantity: float
    batch_id: int | None = None
    line_id: int | None = None
    species_id: int | None = None
    site_id: int | None = None
    funder: str = ""
    day: dt.date | None = None
    #: Hours given: valued beside the costs, never in them.
    in_kind: bool = False


@dataclass(frozen=True, slots=True)
class Grown:
    """Quantities of one line or batch that cost something."""

    trays: float
    cells: float
    plants: float
    container: Container | None


def planned_pools(
    lines: Sequence[PlanLine],
    prices: Prices,
    times: Mapping[Job, StandardTime],
    containers: Mapping[int, Container],
) -> Iterator[Pool]:
    """What each line is expected to cost when all of it is sown."""
    work = line_hours(lines, times)
    for at, worked in zip(work["line"].astype(int).tolist(), work["hours"].tolist(), strict=True):
        yield Pool(Part.LABOUR, worked * prices.wage, worked, line_id=lines[at].id)
    for line in lines:
        drawn = sum(draw.seeds for draw in line.draws)
        seed = sum(draw.seeds * prices.of_lot(draw.lot_id) for draw in line.draws)
        sown = sowable(line)
        missing = max(sown.seeds - drawn, 0)
        yield Pool(Part.SEED, seed + missing * prices.seed, sown.seeds, line_id=line.id)
        grown = Grown(sown.trays, sown.cells, plants_to_come(line), containers.get(line.container_id or 0))
        for pool in materials(grown, prices):
            yield replace(pool, line_id=line.id)


def materials(grown: Grown, prices: Prices) -> Iterator[Pool]:
    """Trays, substrate and other supplies by what stands on the bench; without a price a thing costs nothing."""
    container = grown.container
    if container is not None:
        litres = float(substrate_litres(grown.cells, container.cell_volume_cm3))
        yield Pool(Part.CONTAINERS, grown.trays * prices.trays.get(container.id, 0.0), grown.trays)
        yield Pool(Part.SUBSTRATE, litres * (prices.litre or 0.0), litres)
    yield Pool(Part.SUPPLIES, grown.plants / 1000 * prices.per_1000, grown.plants)


def actual_pools(
    session: Session, batches: Sequence[Batch], prices: Prices, grown: Mapping[int, float]
) -> list[Pool]:
    """What was spent so far; ``grown`` are plants by batch, alive or gone out."""
    return [
        *_of_batches(session, batches, prices, grown),
        *_labour(session, prices),
        *_expenses(session),
    ]


def _of_batches(
    session: Session, batches: Sequence[Batch], prices: Prices, grown: Mapping[int, float]
) -> Iterator[Pool]:
    """Seed sown and materials used; a use written down for a batch stands in for the one reckoned."""
    fullest = select(Count.batch_id, func.max(Count.trays)).group_by(Count.batch_id)
    most = dict(session.execute(fullest).all())
    used = _used(session)
    for batch in batches:
        yield Pool(Part.SEED, batch.seeds * prices.of_lot(batch.lot_id), batch.seeds, batch_id=batch.id)
        trays, cells = room_sown(batch, most.get(batch.id, 0))
        written = used.get(batch.id, {})
        for pool in materials(Grown(trays, cells, grown.get(batch.id, 0.0), batch.container), prices):
            if pool.part not in written:
                yield replace(pool, batch_id=batch.id)
        for part, (money, quantity) in written.items():
            yield Pool(part, money, quantity, batch_id=batch.id)


def room_sown(batch: Batch, most: int) -> tuple[float, float]:
    """Trays and cells of a batch when it was fullest: it gives trays up as plants leave it.

    Cells follow from the seeds sown where each cell got some; else the most trays ever counted are taken.
    """
    per_tray = batch.cells_per_tray or 0
    if batch.seeds_per_cell and per_tray:
        trays = float(np.ceil(batch.seeds / batch.seeds_per_cell / per_tray - 1e-9))
    else:
        trays = float(max(batch.trays, most))
    return trays, trays * per_tray


def _used(session: Session) -> dict[int, dict[Part, tuple[float, float]]]:
    """Money and quantity by batch and part, of supplies written down as used for a batch."""
    rows = session.execute(
        select(SupplyMovement.batch_id, Supply.kind, -SupplyMovement.change, Supply.price_per_pack, Supply.pack)
        .join(SupplyMovement.supply)
        .where(SupplyMovement.batch_id.is_not(None), SupplyMovement.kind == SupplyMovementKind.USED)
    )
    found: defaultdict[int, dict[Part, tuple[float, float]]] = defaultdict(dict)
    for batch_id, kind, quantity, price, pack in rows:
        if batch_id is None:
            continue
        part = _PARTS.get(kind, Part.SUPPLIES)
        money, so_far = found[batch_id].get(part, (0.0, 0.0))
        found[batch_id][part] = money + quantity * (price or 0.0) / pack, so_far + quantity
    return found


def _labour(session: Session, prices: Prices) -> Iterator[Pool]:
    """Hours logged, each borne by what it was for: a batch, a line, a species, a site, or all."""
    of_task, lot = aliased(Batch), aliased(Lot)
    rows = session.execute(
        select(
            WorkTime.hours, WorkTime.worked_on, func.coalesce(WorkTime.batch_id, of_task.id), Task.line_id,
            lot.species_id, Task.site_id, Person.is_volunteer, Person.wage_per_hour,
        )
        .outerjoin(Person, WorkTime.worker_id == Person.id)
        .outerjoin(Task, WorkTime.task_id == Task.id)
        .outerjoin(of_task, Task.batch_id == of_task.id)
        .outerjoin(lot, Task.lot_id == lot.id)
        .where(WorkTime.withdrawn_at.is_(None), WorkTime.job.not_in(OF_SEED))
        .order_by(WorkTime.id)
    )  # fmt: skip
    for worked, day, batch_id, line_id, species_id, site_id, is_volunteer, wage in rows:
        rate = prices.volunteer if is_volunteer else prices.wage if wage is None else wage
        own = batch_id or line_id
        yield Pool(
            Part.LABOUR, worked * rate, worked, batch_id=batch_id, line_id=None if batch_id else line_id, day=day,
            species_id=None if own else species_id, site_id=None if own else site_id, in_kind=bool(is_volunteer),
        )  # fmt: skip


def _expenses(session: Session) -> Iterator[Pool]:
    rows = session.execute(
        select(Expense.amount, Expense.batch_id, Expense.species_id, Expense.funder, Expense.spent_on)
        .where(Expense.archived_at.is_(None))
        .order_by(Expense.id)
    )
    for money, batch_id, species_id, funder, day in rows:
        yield Pool(
            Part.EXPENSES, money, money, batch_id=batch_id, species_id=None if batch_id else species_id,
            funder="" if batch_id else funder, day=day,
        )  # fmt: skip


def unlogged_hours(session: Session) -> float:
    """Planned hours of done tasks for whose work nobody logged hours, on the task or on a batch of theirs."""
    same = or_(
        WorkTime.task_id == Task.id, WorkTime.batch_id == Task.batch_id,
        WorkTime.batch_id.in_(select(Batch.id).where(Batch.line_id == Task.line_id)),
    )  # fmt: skip
    logged = exists().where(WorkTime.withdrawn_at.is_(None), WorkTime.job == Task.job, same)
    return float(
        session.scalar(
            select(func.coalesce(func.sum(Task.hours), 0.0)).where(
                Task.done_on.is_not(None), Task.job.not_in(OF_SEED), ~logged.correlate(Task)
            )
        )
        or 0.0
    )
