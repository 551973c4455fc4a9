"""The weekly sowing list: what begins in a week, with all that is needed to do it."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from nursery.catalog import SpeciesEntry, caution_text
from nursery.i18n import gettext
from nursery.i18n import gettext as _
from nursery.models import Draw, Lot, Plan, PlanLine, StoragePlace
from nursery.models.plans import LineStatus
from nursery.planning.words import Method
from nursery.services.catalogue import effective_entries
from nursery.services.planning.decided import decisions_of, tell_decision
from nursery.services.weeks import Week
from nursery.services.work_dates import PRICK_OUT, SOW, Task, count_left_out, read_tasks

WEEKS_AHEAD = 12
#: Cautions of a species that matter whenever its seed or plants are handled, not only when it is collected.
_HANDLING = ("toxic-sap", "toxic-seed", "toxic-fruit", "toxic-raw", "spiny")
#: What holds for all work in the nursery.
_ALWAYS = "water-hygiene"


@dataclass(frozen=True, slots=True)
class WorkRow:
    """One task with what it takes."""

    task: Task
    line: PlanLine
    draws: Sequence[Draw]
    #: The protocol's own words on the phase, and its temperature in °C.
    note: str
    temperature_c: float | None
    #: Cautions of the phase, in the reader's language.
    cautions: tuple[str, ...]
    #: Keys of the species' own cautions.
    species_cautions: tuple[str, ...]
    #: Where lots are kept, by lot id.
    places: Mapping[int, str]
    #: What people decided about lots here, as sentences by draw id.
    decided: Mapping[int, str]

    @property
    def seeds(self) -> int:
        """Seeds (or cuttings) in hand for it."""
        return sum(draw.seeds for draw in self.draws)

    @property
    def grams(self) -> float | None:
        """Their weight; None for cuttings."""
        weights = [draw.milligrams for draw in self.draws if draw.milligrams is not None]
        return sum(weights) / 1000 if weights else None

    @property
    def missing(self) -> int:
        """Seeds that must be collected first."""
        return self.line.seeds_missing

    @property
    def shows_seed(self) -> bool:
        """Whether it is done to seed, so that lots are named."""
        return self.task.is_pretreatment or self.task.kind == SOW


@dataclass(frozen=True, slots=True)
class Totals:
    """What the week takes in all."""

    tasks: int
    #: Trays to fill, and seeds and cuttings that go into them (or into flats), those to be collected included.
    trays: int
    seeds: int
    cuttings: int
    #: Seed that leaves the store, g.
    grams_out: float


@dataclass(frozen=True, slots=True)
class WeekAhead:
    """One line of the outlook."""

    week: Week
    pretreatments: int
    sowings: int
    prickings: int
    others: int
    trays: int

    @property
    def tasks(self) -> int:
        """All that begins."""
        return self.pretreatments + self.sowings + self.prickings + self.others


@dataclass(frozen=True, slots=True)
class SowingList:
    """A week's work and the outlook on the weeks after it."""

    week: Week
    rows: Sequence[WorkRow]
    totals: Totals
    #: ``(caution, species it concerns)``: what holds for plants and seed whatever is done to them.
    handling: Sequence[tuple[str, Sequence[str]]]
    ahead: Sequence[WeekAhead]
    #: Tasks between the plan's day and this week: done by now, or late.
    earlier: Sequence[Task]
    #: The first task after an empty week.
    next_task: Task | None
    left_out: int
    nurseries: Sequence[str]


def sowing_list(session: Session, plan: Plan, *, week: Week, today: dt.date, nursery: str = "") -> SowingList:
    """The work of ``week`` (of one nursery, where it is named), in a fixed number of queries."""
    ahead_from, this_week = week.plus(1), Week.of(today)
    last = week.plus(WEEKS_AHEAD).sunday
    is_now = week == this_week
    first = min(plan.as_of, week.monday) if is_now else week.monday
    tasks = read_tasks(session, plan, first=first, last=last, nursery=nursery)
    rows = work_rows(session, [task for task in tasks if week.holds(task.starts_on)])
    next_task = next((task for task in tasks if task.starts_on > week.sunday), None)
    if not rows and next_task is None:
        next_task = next(
            iter(read_tasks(session, plan, first=ahead_from.monday, last=None, nursery=nursery)), None
        )
    return SowingList(
        week=week,
        rows=rows,
        totals=totals_of(rows),
        handling=_handling(rows),
        ahead=[_ahead(ahead_from.plus(number), tasks) for number in range(WEEKS_AHEAD)],
        earlier=[task for task in tasks if is_now and task.starts_on < week.monday],
        next_task=next_task,
        left_out=count_left_out(session, plan),
        nurseries=_nurseries(session, plan),
    )


def work_rows(session: Session, tasks: Sequence[Task]) -> list[WorkRow]:
    """Tasks with their lots and the protocol's words, by nursery and container type."""
    lines = {
        line.id: line
        for line in session.scalars(
            select(PlanLine)
            .where(PlanLine.id.in_({task.line.id for task in tasks}))
            .options(selectinload(PlanLine.draws))
        )
    }
    entries = effective_entries(session, {line.species_id for line in lines.values()})
    places = _places(session, lines.values())
    followed = decisions_of(session, [draw for line in lines.values() for draw in line.draws])
    decided = {draw_id: tell_decision(decision) for draw_id, decision in followed.items()}
    rows = []
    for task in tasks:
        line = lines[task.line.id]
        rows.append(_row(task, line, entries.get(line.species_id), places, decided))
    return sorted(rows, key=lambda row: (row.line.nursery_name, row.line.container_name, row.task.starts_on))


def totals_of(rows: Iterable[WorkRow]) -> Totals:
    """Sums over a week's rows."""
    trays = seeds = cuttings = tasks = 0
    milligrams = 0.0
    for row in rows:
        tasks += 1
        if row.task.fills_trays:
            trays += row.task.line.trays
        if row.task.kind == SOW:
            sown = row.seeds + (row.missing if row.line.status is LineStatus.COLLECT else 0)
            if row.line.method is Method.CUTTINGS:
                cuttings += sown
            else:
                seeds += sown
        if row.task.is_first:
            milligrams += sum(draw.milligrams or 0 for draw in row.draws)
    return Totals(tasks, trays, seeds, cuttings, milligrams / 1000)


def _row(
    task: Task, line: PlanLine, entry: SpeciesEntry | None, places: Mapping[int, str], decided: Mapping[int, str]
) -> WorkRow:
    # The catalogue may have changed since the plan was frozen: then the plan's days stand without its words.
    protocols = {protocol.key: protocol for protocol in entry.protocols} if entry else {}
    protocol = protocols.get(line.protocol)
    phases = {}
    if protocol is not None:
        phases = {phase.key: phase for phase in protocol.phases} | {SOW: protocol.nursery[0]}
    phase = phases.get(task.kind)
    return WorkRow(
        task=task,
        line=line,
        draws=line.draws,
        note=gettext(phase.note) if phase is not None and phase.note else "",
        temperature_c=phase.temperature_c if phase else None,
        cautions=(caution_text(phase.caution),) if phase is not None and phase.caution else (),
        species_cautions=entry.cautions if entry else (),
        places=places,
        decided=decided,
    )


def _places(session: Session, lines: Iterable[PlanLine]) -> dict[int, str]:
    lots = {draw.lot_id for line in lines for draw in line.draws}
    query = select(Lot.id, StoragePlace.name).join(Lot.storage_place).where(Lot.id.in_(lots))
    return {row.id: row.name for row in session.execute(query)}


def _handling(rows: Sequence[WorkRow]) -> list[tuple[str, Sequence[str]]]:
    if not rows:
        return []
    named = sorted({(row.line.species_name, row.species_cautions) for row in rows})
    found = [(key, [name for name, cautions in named if key in cautions]) for key in _HANDLING]
    lifting = _("Full trays and sacks are heavy: lift with a straight back, in pairs, or use a trolley.")
    always: list[tuple[str, Sequence[str]]] = [(caution_text(_ALWAYS), ()), (lifting, ())]
    return [(caution_text(key), names) for key, names in found if names] + always


def _ahead(week: Week, tasks: Iterable[Task]) -> WeekAhead:
    found = [task for task in tasks if week.holds(task.starts_on)]
    count = Counter(
        "pretreatment" if task.is_pretreatment else task.kind if task.kind in {SOW, PRICK_OUT} else "other"
        for task in found
    )
    trays = sum(task.line.trays for task in found if task.fills_trays)
    return WeekAhead(week, count["pretreatment"], count[SOW], count[PRICK_OUT], count["other"], trays)


def _nurseries(session: Session, plan: Plan) -> Sequence[str]:
    return session.scalars(
        select(PlanLine.nursery_name)
        .where(PlanLine.plan_id == plan.id, PlanLine.nursery_name != "")
        .distinct()
        .order_by(PlanLine.nursery_name)
    ).all()
