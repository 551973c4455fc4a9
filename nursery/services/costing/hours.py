"""Hours of the open tasks by week, beside the hours that people have."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from sqlalchemy import Row, func, select
from sqlalchemy.orm import Session, aliased

from nursery.i18n import gettext as _
from nursery.models import Batch, Lot, Nursery, Person, PlanLine, Species, Task
from nursery.planning.arrays import Floats, Ints
from nursery.planning.work.hours import TRIFLE, people_hours, relieve, spread, weeks_from
from nursery.planning.work.words import TaskStatus
from nursery.services.costing.words import JOB_LABELS
from nursery.services.weeks import Week

By = Literal["job", "person", "place"]


@dataclass(frozen=True, slots=True)
class WeekHours:
    """One week: hours of work, hours there are, and what is too much."""

    week: Week
    needed: float
    paid: float
    volunteers: float

    @property
    def given(self) -> float:
        """Hours that volunteers are needed for, as far as they go."""
        return min(self.volunteers, max(self.needed - self.paid, 0.0))

    @property
    def over(self) -> float:
        """Hours beyond what all people have."""
        over = self.needed - self.paid - self.volunteers
        return over if over > TRIFLE else 0.0

    @property
    def free(self) -> float:
        """Hours of paid people that no task asks for."""
        return max(self.paid - self.needed, 0.0)


@dataclass(frozen=True, slots=True)
class Portion:
    """Hours of one job, person or place by week; ``has`` is what a person has of them."""

    label: str
    hours: Sequence[float]
    has: Sequence[float] | None = None

    @property
    def total(self) -> float:
        """Of all weeks shown."""
        return sum(self.hours)


@dataclass(frozen=True, slots=True)
class Movable:
    """A piece of work that may wait, and until when."""

    task_id: int
    text: str
    hours: float
    to: Week


@dataclass(frozen=True, slots=True)
class Advice:
    """A week with too much work, and what would help."""

    week: WeekHours
    movable: Sequence[Movable]
    #: Hours that are lacking even then.
    lacking: float


@dataclass(frozen=True, slots=True)
class HoursByWeek:
    """All of it; ``late`` are hours of work overdue, ``unknown`` open tasks without hours."""

    weeks: Sequence[WeekHours]
    portions: Sequence[Portion]
    advice: Sequence[Advice]
    late: float
    unknown: int
    people: int

    @property
    def over(self) -> Sequence[WeekHours]:
        """Weeks that ask for more than people have."""
        return [week for week in self.weeks if week.over]


def read_hours(session: Session, *, today: dt.date, first: Week, count: int = 26, by: By = "job") -> HoursByWeek:
    """Hours of open tasks from ``first`` on, for so many weeks.

    What is overdue is counted for today. Partly done work counts by what is left of it.
    """
    tasks, people = session.execute(_tasks_query()).all(), session.scalars(_people_query()).all()
    weeks = weeks_from(np.datetime64(first.monday, "D"), count)
    load = _load(tasks, today, weeks)
    has = people_hours(
        [person.hours_per_week for person in people],
        _days([person.from_on for person in people]),
        _days([person.until_on for person in people]),
        weeks,
    )
    given = np.array([person.is_volunteer for person in people], np.bool_)
    sums = (load.sum(axis=0), has[~given].sum(axis=0), has[given].sum(axis=0))
    told = [WeekHours(first.plus(at), *hours) for at, hours in enumerate(np.array(sums).T.tolist())]
    return HoursByWeek(
        weeks=told,
        portions=_portions(tasks, load, by, people, has),
        advice=_advice(tasks, load, has.sum(axis=0), told, today),
        late=sum(_left(task) for task in tasks if (task.until_on or task.due_on) < today),
        unknown=sum(task.hours is None for task in tasks),
        people=len(people),
    )


def _tasks_query() -> Any:
    of_batch, of_lot = aliased(Species), aliased(Species)
    return (
        select(
            Task.id, Task.job, Task.hours, Task.amount, Task.done_amount, Task.due_on, Task.until_on,
            Task.latest_on, Task.person_id, Person.name.label("person"),
            func.coalesce(Nursery.name, PlanLine.nursery_name, "").label("place"),
            func.coalesce(of_batch.scientific_name, PlanLine.species_name, of_lot.scientific_name, "").label(
                "species"
            ),
            Batch.code.label("batch"), Task.details,
        )
        .outerjoin(Person, Task.person_id == Person.id)
        .outerjoin(Nursery, Task.nursery_id == Nursery.id)
        .outerjoin(PlanLine, Task.line_id == PlanLine.id)
        .outerjoin(Batch, Task.batch_id == Batch.id)
        .outerjoin(of_batch, Batch.species_id == of_batch.id)
        .outerjoin(Lot, Task.lot_id == Lot.id)
        .outerjoin(of_lot, Lot.species_id == of_lot.id)
        .where(Task.status.in_((TaskStatus.OPEN, TaskStatus.PARTLY)))
        .order_by(Task.due_on, Task.id)
    )  # fmt: skip


def _people_query() -> Any:
    return select(Person).where(Person.archived_at.is_(None)).order_by(Person.name)


def _left(task: Row[Any]) -> float:
    """Hours still to be worked."""
    hours: float = task.hours or 0.0
    done: float = task.done_amount / task.amount if task.amount and task.done_amount else 0.0
    return hours * max(1 - done, 0.0)


def _load(tasks: Sequence[Row[Any]], today: dt.date, weeks: Any) -> Floats:
    starts = _days([max(task.due_on, today) for task in tasks])
    ends = _days([max(task.until_on or task.due_on, today) for task in tasks])
    return spread(starts, ends, [_left(task) for task in tasks], weeks)


def _days(days: Sequence[dt.date | None]) -> Any:
    return np.array(days, "datetime64[D]")


def _portions(
    tasks: Sequence[Row[Any]], load: Floats, by: By, people: Sequence[Person], has: Floats
) -> list[Portion]:
    """Sums of the load by job in the order of a plant's life, by person or by place."""
    key, ordered = _JOINED[by]
    keys = [key(task) for task in tasks]
    named = ordered(tasks, people)
    row_of = {one: at for at, (one, _label) in enumerate(named)}
    sums = np.zeros((len(named), load.shape[1]))
    np.add.at(sums, [row_of[one] for one in keys], load)
    own = dict(zip((person.id for person in people), has.tolist(), strict=True)) if by == "person" else {}
    return [
        Portion(label, hours.tolist(), own.get(one))
        for (one, label), hours in zip(named, sums, strict=True)
        if hours.sum() > TRIFLE or one in own
    ]


def _jobs(_tasks: Sequence[Row[Any]], _people: Sequence[Person]) -> list[tuple[Any, str]]:
    return [(job, str(label)) for job, label in JOB_LABELS.items()]


def _persons(tasks: Sequence[Row[Any]], people: Sequence[Person]) -> list[tuple[Any, str]]:
    """People of today, those who are gone and still have work, and nobody."""
    names = {person.id: person.name for person in people}
    gone = {task.person_id: task.person for task in tasks if task.person_id is not None}
    return [*(gone | names).items(), (None, _("Nobody yet"))]


def _places(tasks: Sequence[Row[Any]], _people: Sequence[Person]) -> list[tuple[Any, str]]:
    return [(place, place or _("No place named")) for place in sorted({task.place for task in tasks})]


_JOINED: dict[By, tuple[Callable[[Row[Any]], Any], Callable[..., list[tuple[Any, str]]]]] = {
    "job": (lambda task: task.job, _jobs),
    "person": (lambda task: task.person_id, _persons),
    "place": (lambda task: task.place, _places),
}


def _advice(
    tasks: Sequence[Row[Any]], load: Floats, capacity: Floats, weeks: Sequence[WeekHours], today: dt.date
) -> list[Advice]:
    """What would help in each week that asks for more than there is."""
    first = weeks[0].week
    last_week: Ints = np.array([_last_week(task, first, today) for task in tasks], np.int64)
    relief = relieve(load, capacity, last_week)
    found: dict[int, list[Movable]] = {at: [] for at, week in enumerate(weeks) if week.over}
    for move in relief.moves:
        task = tasks[move.piece]
        found[move.from_week].append(Movable(task.id, _text(task), move.hours, weeks[move.to_week].week))
    return [Advice(weeks[at], moves, float(relief.lacking[at])) for at, moves in found.items()]


def _last_week(task: Row[Any], first: Week, today: dt.date) -> int:
    """The week, counted from the first shown, up to which a task may wait; work without a last day stays."""
    day = task.latest_on or max(task.due_on, today)
    return (Week.of(day).monday - first.monday).days // 7


def _text(task: Row[Any]) -> str:
    """What is to be done, as a person says it."""
    what = str(JOB_LABELS[task.job])
    species = task.species or str(task.details.get("species", ""))
    of = " ".join(part for part in (species, task.batch) if part)
    return f"{what}, {of}" if of else what
