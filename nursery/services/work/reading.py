"""Tasks as people look at them: late ones first, then today, then the rest of the week."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, case, func, or_, select
from sqlalchemy.orm import Session, joinedload

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import Bench, Nursery, Person, Population, Site, Task
from nursery.planning.work.tasks import FEED_EVERY
from nursery.planning.work.words import Job, TaskStatus
from nursery.services.weeks import Week
from nursery.services.work import words
from nursery.services.work.costing_slips import slips_if_done
from nursery.services.work.season import Slip

OPEN = (TaskStatus.OPEN, TaskStatus.PARTLY)
#: Rows of one part of the page at most; the list that is linked has all.
MOST = 80
#: A trip is late when its last day is past; other work when it was not begun on its day.
LATE_AFTER = case((Task.job == Job.COLLECT, func.coalesce(Task.until_on, Task.due_on)), else_=Task.due_on)
#: Work that comes round: the next round makes one that was left out needless.
ROUNDS = {Job.FEED: FEED_EVERY}


def is_late(today: dt.date) -> ColumnElement[bool]:
    """Open, and its day is past."""
    return and_(Task.status.in_(OPEN), today > LATE_AFTER, ~is_outdated(today))


def is_outdated(today: dt.date) -> ColumnElement[bool]:
    """A round that another one has followed."""
    return or_(*(and_(Task.job == job, Task.due_on <= today - dt.timedelta(days)) for job, days in ROUNDS.items()))


#: Kinds of place by the letter that stands for them in addresses.
PLACES: dict[str, tuple[Any, Any]] = {
    "n": (Task.nursery_id, Nursery), "b": (Task.bench_id, Bench), "s": (Task.site_id, Site),
    "p": (Task.population_id, Population),
}  # fmt: skip
NOBODY = "none"


@dataclass(frozen=True, slots=True)
class Asked:
    """Which tasks: of a person (``none``: nobody's), at a place (``n3``, ``b1``, ``s2``, ``p5``), of one job."""

    person: str = ""
    place: str = ""
    job: str = ""

    @property
    def any(self) -> bool:
        """Whether anything is asked."""
        return bool(self.person or self.place or self.job)

    def conditions(self) -> list[ColumnElement[bool]]:
        """For the database; nonsense counts as not asked."""
        found: list[ColumnElement[bool]] = []
        if self.person == NOBODY:
            found.append(Task.person_id.is_(None))
        elif (person := _number(self.person)) is not None:
            found.append(Task.person_id == person)
        column = PLACES.get(self.place[:1])
        if column is not None and (place := _number(self.place[1:])) is not None:
            found.append(column[0] == place)
        if self.job in set(Job):
            found.append(Task.job == Job(self.job))
        return found


@dataclass(frozen=True, slots=True)
class Today:
    """The page of the day."""

    late: Sequence[Task]
    today: Sequence[Task]
    week: Sequence[Task]
    done: Sequence[Task]
    #: What each late task costs the season if it is done today, by id.
    slips: Mapping[int, Slip]
    #: All late ones, however many are shown.
    late_in_all: int
    #: The first task after this week.
    next_task: Task | None


def read_today(session: Session, asked: Asked, *, today: dt.date) -> Today:
    """Late, due today, and due by Sunday, in a fixed number of queries."""
    where = asked.conditions()
    sunday = Week.of(today).sunday
    late = _read(session, is_late(today), *where)
    rest = _read(session, Task.status.in_(OPEN), today <= LATE_AFTER, Task.due_on <= sunday, *where, most=3 * MOST)
    done = _read(session, Task.status.in_((TaskStatus.DONE, TaskStatus.SKIPPED)), _finished(today), *where)
    later = session.scalar(
        _query().where(Task.status.in_(OPEN), Task.due_on > sunday, *where).order_by(Task.due_on, Task.id).limit(1)
    )
    return Today(
        late=late,
        today=[task for task in rest if task.due_on <= today],
        week=[task for task in rest if task.due_on > today],
        done=done,
        slips=slips_if_done(session, late, today),
        late_in_all=len(late) if len(late) < MOST else _count(session, is_late(today), *where),
        next_task=later,
    )


def read_week(session: Session, asked: Asked, week: Week) -> Sequence[Task]:
    """What is to begin in a week, open or finished."""
    return _read(
        session, Task.status != TaskStatus.DROPPED, Task.due_on >= week.monday, Task.due_on <= week.sunday,
        *asked.conditions(), most=1000,
    )  # fmt: skip


def get_task(session: Session, task_id: int) -> Task:
    """One task, or ``NotFound``."""
    task = session.scalar(_query().where(Task.id == task_id))
    if task is None:
        raise NotFound(_("There is no such task."))
    return task


def batch_tasks(session: Session, batch_id: int, *, most: int = 4) -> list[tuple[Task, str]]:
    """The next open tasks of a batch, each with what is to be done."""
    found = _read(session, Task.batch_id == batch_id, Task.status.in_(OPEN), most=most)
    return [(task, words.title(task)) for task in found]


def late_and_next(session: Session, *, today: dt.date, most: int = 5) -> tuple[int, Sequence[Task]]:
    """How many are late, and the first ones to do: for the season page."""
    late = _count(session, is_late(today))
    return late, _read(session, Task.status.in_(OPEN), ~is_outdated(today), most=most)


@dataclass(frozen=True, slots=True)
class Load:
    """What a person has before them."""

    late: int
    this_week: int
    hours: float


def load_of(session: Session, person: Person, *, today: dt.date) -> Load:
    """Open tasks of a person: late, and by Sunday with the hours that both take."""
    sunday = Week.of(today).sunday
    late = case((is_late(today), 1), else_=0)
    row = session.execute(
        select(func.count(), func.sum(late), func.sum(Task.hours))
        .select_from(Task)
        .where(Task.person_id == person.id, Task.status.in_(OPEN), Task.due_on <= sunday, ~is_outdated(today))
    ).one()
    past = int(row[1] or 0)
    return Load(past, int(row[0]) - past, float(row[2] or 0.0))


def people_options(session: Session) -> list[tuple[str, str]]:
    """People to choose from, and nobody."""
    rows = session.execute(
        select(Person.id, Person.name).where(Person.archived_at.is_(None)).order_by(Person.name)
    )
    return [(str(person_id), name) for person_id, name in rows] + [(NOBODY, _("Nobody yet"))]


def place_options(session: Session) -> list[tuple[str, str]]:
    """Places at which there is open work."""
    found = []
    for letter, (column, model) in PLACES.items():
        used = select(column).where(Task.status.in_(OPEN)).distinct()
        rows = session.execute(select(model.id, model.name).where(model.id.in_(used)).order_by(model.name))
        found += [(f"{letter}{place_id}", name) for place_id, name in rows]
    return found


def _read(session: Session, *where: ColumnElement[bool], most: int = MOST) -> Sequence[Task]:
    query = _query().where(*where).order_by(Task.due_on, Task.id).limit(most)
    return session.scalars(query).all()


def _query() -> Select[Task]:
    return select(Task).options(joinedload(Task.person), joinedload(Task.nursery), joinedload(Task.bench))


def _count(session: Session, *where: ColumnElement[bool]) -> int:
    return session.scalar(select(func.count()).select_from(Task).where(*where)) or 0


def _finished(today: dt.date) -> ColumnElement[bool]:
    return or_(Task.done_on == today, and_(Task.status == TaskStatus.SKIPPED, Task.due_on == today))


def _number(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None
