"""Hours by kind of work, paid and given, and the days on which people planted."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from nursery.models import Lot, Person, Planting, WorkTime
from nursery.planning.work.words import Job
from nursery.services.season_report.scope import Scope

#: Hours are rounded so far once, in the parts that sums are made of.
HOUR_DIGITS = 2


@dataclass(frozen=True)
class JobHours:
    """Hours logged for one kind of work."""

    job: Job
    paid: float
    given: float


@dataclass(frozen=True)
class PlantingDay:
    """What was planted at one site on one day, and by whom."""

    site_id: int
    day: dt.date
    plants: int
    people: str
    #: None where nobody wrote it down.
    volunteers: int | None
    hours: float | None
    area_m2: float | None


def read_hours(session: Session, scope: Scope) -> list[JobHours]:
    """Hours worked within the season's days, in one query; hours of nobody in particular are paid ones."""
    given = func.sum(case((Person.is_volunteer, WorkTime.hours), else_=0.0))
    rows = session.execute(
        select(WorkTime.job, func.sum(WorkTime.hours), given)
        .outerjoin(WorkTime.worker)
        .where(WorkTime.withdrawn_at.is_(None), WorkTime.worked_on.between(scope.first, scope.last))
        .group_by(WorkTime.job)
    )
    found = [
        JobHours(job, round(float(hours) - float(free), HOUR_DIGITS), round(float(free), HOUR_DIGITS))
        for job, hours, free in rows
    ]
    order = list(Job)
    return sorted(found, key=lambda one: order.index(one.job))


def read_planting_days(session: Session, scope: Scope) -> list[PlantingDay]:
    """Day by day, in one query; of several plantings of one day the people are named once."""
    rows = session.execute(
        select(
            Planting.site_id, Planting.planted_on, Planting.plants, Planting.people, Planting.volunteers,
            Planting.hours, Planting.area_m2,
        )
        .join(Lot, Planting.lot_id == Lot.id)
        .where(Planting.archived_at.is_(None), Planting.planted_on.between(scope.first, scope.last))
        .order_by(Planting.planted_on, Planting.site_id, Planting.id)
    )  # fmt: skip
    found: dict[tuple[int, dt.date], PlantingDay] = {}
    for site_id, day, plants, people, volunteers, hours, area in rows:
        before = found.get((site_id, day), PlantingDay(site_id, day, 0, "", None, None, None))
        names = [name for name in (before.people, people) if name]
        found[site_id, day] = PlantingDay(
            site_id, day, before.plants + plants, "; ".join(dict.fromkeys("; ".join(names).split("; ")))
            if names else "",
            _most(before.volunteers, volunteers),
            _sum(before.hours, None if hours is None else round(hours, HOUR_DIGITS)),
            _sum(before.area_m2, area),
        )  # fmt: skip
    return list(found.values())


def _sum(one: float | None, other: float | None) -> float | None:
    return other if one is None else one if other is None else one + other


def _most(one: int | None, other: int | None) -> int | None:
    # The same volunteers plant several lots on one day: adding them up would count them twice.
    return other if one is None else one if other is None else max(one, other)
