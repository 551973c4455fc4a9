"""What has to be done on which day: the phases of a plan, turned into tasks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Row, and_, func, or_, select
from sqlalchemy.orm import Session

from nursery.catalog.vocabulary import PRETREATMENT_PHASES
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Plan, PlanLine
from nursery.models.plans import LineStatus
from nursery.planning.words import Method

SOW, PLANT, PRICK_OUT = "sow", "plant", "pricking-out"
#: What a person does on the first day of a phase.
_WORK = {
    "soak": _l("Put to soak"),
    "scarify": _l("Scarify"),
    "warm-stratify": _l("Begin warm stratification"),
    "cold-stratify": _l("Begin cold stratification"),
    "heat": _l("Treat with dry heat"),
    "sprout": _l("Put to sprout"),
    "cold-store": _l("Put into the moist cold store"),
    "callus": _l("Put to callus"),
    PRICK_OUT: _l("Prick out into cells"),
    "growing": _l("Begin growing on"),
    "hardening": _l("Begin hardening"),
    PLANT: _l("Send out to plant"),
}
_SOWING = {
    Method.DIRECT: _l("Sow in cells"),
    Method.PRESPROUTED: _l("Set sprouted seed in cells"),
    Method.PRICKED_OUT: _l("Sow in flats"),
    Method.CUTTINGS: _l("Set cuttings"),
    Method.BAREROOT: _l("Sow in the bed"),
}


@dataclass(frozen=True, slots=True)
class LineBrief:
    """As much of a plan line as a list of tasks needs. ``trays`` are those that seed can fill."""

    id: int
    species_name: str
    site_name: str
    nursery_name: str
    method: Method
    status: LineStatus
    seeds_per_cell: int
    trays: int
    cells: int
    #: All it needs grows already, so that nothing is sown for it.
    is_grown: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do: the start of a phase, the sowing, or the planting."""

    line: LineBrief
    #: Key of the phase that begins, or `SOW` or `PLANT`.
    kind: str
    starts_on: dt.date
    #: Last day of the phase without its wait; None for planting.
    ends_on: dt.date | None
    wait_days: int
    #: The line's first work: seed leaves the store.
    is_first: bool

    @property
    def label(self) -> str:
        """What to do, in the reader's language."""
        if self.kind == SOW:
            return str(_SOWING[self.line.method])
        if self.kind == "growing" and self.line.method is Method.DIRECT and self.line.seeds_per_cell > 1:
            return _("Thin to one plant a cell, grow on")
        return str(_WORK.get(self.kind, self.kind))

    @property
    def is_pretreatment(self) -> bool:
        """Whether it comes before the sowing."""
        return self.kind in PRETREATMENT_PHASES

    @property
    def days(self) -> int | None:
        """How long the phase takes."""
        return None if self.ends_on is None else (self.ends_on - self.starts_on).days

    @property
    def fills_trays(self) -> bool:
        """Whether trays are filled for it: at the sowing, or at pricking out where seed goes into flats first."""
        if self.line.method is Method.PRICKED_OUT:
            return self.kind == PRICK_OUT
        return self.kind == SOW and self.line.method is not Method.BAREROOT


def can_be_grown() -> ColumnElement[bool]:
    """Lines on which there is something to do: in time, wanted, and with seed in hand or still to be collected."""
    return and_(
        PlanLine.status != LineStatus.LATE,
        PlanLine.ready_plants > 0,
        or_(PlanLine.status != LineStatus.SHORT, PlanLine.seeds > PlanLine.seeds_missing),
    )


def read_tasks(
    session: Session, plan: Plan, *, first: dt.date, last: dt.date | None, nursery: str = ""
) -> list[Task]:
    """Tasks of a plan from ``first`` to ``last`` (None: to its end) in order of time, in one query."""
    wanted = [PlanLine.plan_id == plan.id, can_be_grown(), PlanLine.plant_on >= first]
    if last is not None:
        wanted.append(PlanLine.pretreat_on <= last)
    if nursery:
        wanted.append(PlanLine.nursery_name == nursery)
    query = select(
        PlanLine.id, PlanLine.species_name, PlanLine.site_name, PlanLine.nursery_name, PlanLine.method,
        PlanLine.status, PlanLine.seeds_per_cell, PlanLine.trays, PlanLine.cells_sown, PlanLine.phases,
        PlanLine.plant_on,
        PlanLine.basis["cells_from_lots"].as_integer().label("cells_from_lots"),
        PlanLine.basis["cells_per_tray"].as_integer().label("cells_per_tray"),
        PlanLine.growing["covered"].as_boolean().label("is_grown"),
    ).where(*wanted)  # fmt: skip
    until = last or dt.date.max
    found = [
        task
        for row in session.execute(query)
        for task in tasks_of(_brief(row), row.phases, row.plant_on)
        if first <= task.starts_on <= until
    ]
    return sorted(found, key=lambda task: (task.starts_on, task.line.species_name, task.line.id))


def tasks_of(line: LineBrief, phases: Sequence[dict[str, Any]], plant_on: dt.date) -> Iterator[Task]:
    """The tasks of one line in order of time; the first phase after the pretreatment is the sowing."""
    is_sown = line.is_grown
    for position, phase in enumerate(phases):
        kind = phase["name"]
        if line.is_grown and kind not in _WORK:
            continue  # nobody does anything for emergence
        if not is_sown and kind not in PRETREATMENT_PHASES:
            kind, is_sown = SOW, True
        wait = int(phase["wait_days"])
        starts_on, ends_on = dt.date.fromisoformat(phase["start"]), dt.date.fromisoformat(phase["end"])
        yield Task(line, kind, starts_on, ends_on - dt.timedelta(days=wait), wait, position == 0)
    yield Task(line, PLANT, plant_on, None, 0, is_first=False)


def count_left_out(session: Session, plan: Plan) -> int:
    """Lines of the plan on which nothing can be done: too late, or without any seed in time."""
    return session.scalar(
        select(func.count()).where(PlanLine.plan_id == plan.id, PlanLine.ready_plants > 0, ~can_be_grown())
    ) or 0  # fmt: skip


def _brief(row: Row[Any]) -> LineBrief:
    trays, cells = row.trays, row.cells_sown
    if row.status is LineStatus.SHORT and trays:  # not all can be filled: count what the seed in hand fills
        cells = row.cells_from_lots
        trays = -(-cells // row.cells_per_tray)
    return LineBrief(
        id=row.id, species_name=row.species_name, site_name=row.site_name, nursery_name=row.nursery_name,
        method=row.method, status=row.status, seeds_per_cell=row.seeds_per_cell or 1, trays=trays, cells=cells,
        is_grown=bool(row.is_grown),
    )  # fmt: skip
