"""The season at a glance: what to start, what to collect, what falls short, what will be ready."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import case, exists, func, select
from sqlalchemy.orm import Session

from nursery.models import CollectionNeed, Container, Lot, Plan, PlanLine, Population, Site, Target
from nursery.models.plans import LineStatus
from nursery.services.catalogue import effective_entries
from nursery.services.planning import current_plan, newest_plan
from nursery.services.planning.held import read_held
from nursery.services.planning.lines import changes_since
from nursery.services.planning.words import is_way_out, sentence
from nursery.services.weeks import Week
from nursery.services.work_dates import Task, read_tasks

#: Rows shown of each list; the pages that are linked show all.
ROWS = 8
_FALLING_SHORT = (LineStatus.SHORT, LineStatus.LATE)


class Freshness(StrEnum):
    """Why a new plan may be due."""

    CURRENT = "current"
    #: Records were changed since the plan was made.
    CHANGED = "changed"
    #: The plan was reckoned on an earlier day.
    OLDER = "older"
    #: A newer plan exists that is not adopted.
    NOT_ADOPTED = "not-adopted"


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A line that cannot give its plants: why, and what could be done."""

    line: PlanLine
    reasons: Sequence[str]
    ways_out: Sequence[str]


@dataclass(frozen=True, slots=True)
class SpeciesForecast:
    """Ready plants of one species in one season, summed over its lines.

    ``low`` and ``high`` add the 10 % and 90 % marks of the lines: lines of one species tend to do well or badly
    together, so the range of their sum is taken at its widest.
    """

    species_name: str
    lines: int
    needed: int
    low: int
    expected: float
    high: int
    #: Expected plants up to each line's need: a surplus at one site does not fill a gap at another.
    covered: float


@dataclass(frozen=True, slots=True)
class Glance:
    """All that the season page shows."""

    plan: Plan
    freshness: Freshness
    #: What was changed since the plan was made, as texts such as “3 lots”.
    changes: Sequence[str]
    week: Week
    overdue: Sequence[Task]
    this_week: Sequence[Task]
    next_week: Sequence[Task]
    #: The first task after those two weeks, where they are empty.
    next_task: Task | None
    needs: Sequence[CollectionNeed]
    shortfalls: Sequence[Shortfall]
    statuses: Mapping[LineStatus, int]
    #: The season that is planted next, and its forecast by species.
    season: int | None
    forecast: Sequence[SpeciesForecast]

    @property
    def falling_short(self) -> int:
        """Lines that cannot give all their plants."""
        return sum(self.statuses.get(status, 0) for status in _FALLING_SHORT)


@dataclass(frozen=True, slots=True)
class FirstSteps:
    """What has been done already in a database without a plan."""

    populations: bool
    lots: bool
    sites: bool
    targets: bool
    containers: bool


def glance_at_season(session: Session, *, today: dt.date) -> Glance | None:
    """The season as the plan in force sees it; None while there is no plan. The number of queries is fixed."""
    plan = current_plan(session)
    if plan is None:
        return None
    week, changes = Week.of(today), changes_since(session, plan)
    tasks = read_tasks(session, plan, first=min(plan.as_of, week.monday), last=week.plus(26).sunday)
    soon = [task for task in tasks if task.starts_on > week.plus(1).sunday]
    season = nearest_season(session, plan, today)
    return Glance(
        plan=plan,
        freshness=freshness(session, plan, changes, today),
        changes=changes,
        week=week,
        overdue=[task for task in tasks if task.starts_on < week.monday],
        this_week=[task for task in tasks if week.holds(task.starts_on)],
        next_week=[task for task in tasks if week.plus(1).holds(task.starts_on)],
        next_task=soon[0] if soon else None,
        needs=session.scalars(
            select(CollectionNeed)
            .where(CollectionNeed.plan_id == plan.id, CollectionNeed.closes_on >= plan.as_of)
            .order_by(CollectionNeed.closes_on, CollectionNeed.opens_on, CollectionNeed.id)
        ).all(),
        shortfalls=_shortfalls(session, plan),
        statuses=_statuses(session, plan),
        season=season,
        forecast=[] if season is None else forecast_by_species(session, plan, season),
    )


def first_steps(session: Session) -> FirstSteps:
    """Which of the first steps have been taken, in one query."""
    done = session.execute(
        select(
            *(exists().where(model.archived_at.is_(None)) for model in (Population, Lot, Site, Target, Container))
        )
    ).one()
    return FirstSteps(populations=done[0], lots=done[1], sites=done[2], targets=done[3], containers=done[4])


def freshness(session: Session, plan: Plan, changes: Sequence[str], today: dt.date) -> Freshness:
    """Whether the plan still stands on today's records."""
    newest = newest_plan(session)
    if newest is not None and newest.id != plan.id:
        return Freshness.NOT_ADOPTED
    if changes:
        return Freshness.CHANGED
    return Freshness.OLDER if plan.as_of < today else Freshness.CURRENT


def forecast_by_species(session: Session, plan: Plan, season: int) -> list[SpeciesForecast]:
    """Ready stock by species against what must be ready in ``season``, the least covered first."""
    line = PlanLine
    rows = session.execute(
        select(
            line.species_name, func.count(), func.sum(line.ready_plants), func.sum(line.p10),
            func.sum(line.expected), func.sum(line.p90),
            func.sum(case((line.expected < line.ready_plants, line.expected), else_=line.ready_plants)),
        )
        .where(line.plan_id == plan.id, line.season == season, line.ready_plants > 0)
        .group_by(line.species_name)
    )  # fmt: skip
    found = [SpeciesForecast(*row) for row in rows]
    return sorted(found, key=lambda species: (species.expected / species.needed, species.species_name))


def nearest_season(session: Session, plan: Plan, today: dt.date) -> int | None:
    """The first season with a planting day that has not passed; else the last one of the plan."""
    query = select(func.min(PlanLine.season)).where(PlanLine.plan_id == plan.id, PlanLine.plant_on >= today)
    last = select(func.max(PlanLine.season)).where(PlanLine.plan_id == plan.id)
    season: int | None = session.scalar(select(func.coalesce(query.scalar_subquery(), last.scalar_subquery())))
    return season


def _statuses(session: Session, plan: Plan) -> dict[LineStatus, int]:
    query = select(PlanLine.status, func.count()).where(PlanLine.plan_id == plan.id).group_by(PlanLine.status)
    return dict(session.execute(query).all())


def _shortfalls(session: Session, plan: Plan) -> list[Shortfall]:
    lines = session.scalars(
        select(PlanLine)
        .where(PlanLine.plan_id == plan.id, PlanLine.status.in_(_FALLING_SHORT))
        .order_by(PlanLine.shortfall.desc(), PlanLine.season, PlanLine.id)
        .limit(ROWS)
    ).all()
    entries = effective_entries(session, {line.species_id for line in lines})
    held = read_held(session, lines)
    found = []
    for line in lines:
        texts = [(is_way_out(p), sentence(p, entries.get(line.species_id))) for p in line.problems]
        reasons = [text for out, text in texts if not out] + held.get(line.id, [])
        found.append(Shortfall(line, reasons, [text for out, text in texts if out]))
    return found
