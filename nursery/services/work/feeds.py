"""Calendar feeds: each person's tasks, and everybody's, at private addresses."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence

from sqlalchemy import and_, or_, select
from sqlalchemy.orm import Session, joinedload

from nursery.documents.ical import AllDay, calendar_feed
from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import Person, Preferences, Task
from nursery.models.work import new_token
from nursery.planning.work.words import Job, TaskStatus
from nursery.services import auditing
from nursery.services.costing.words import JOB_LABELS
from nursery.services.preferences import read_preferences
from nursery.services.work import words

_GONE = (TaskStatus.SKIPPED, TaskStatus.DROPPED)
#: Finished and cancelled events stay in the feed so long that every calendar has heard of them.
KEEP_DAYS = 60
#: Events further ahead are not told yet.
AHEAD_DAYS = 400


def work_feed(
    session: Session, *, token: str, today: dt.date, now: dt.datetime, address: Callable[[int], str]
) -> bytes:
    """The feed at a private address; ``address`` gives the page of a task."""
    person = session.scalar(select(Person).where(Person.feed_token == token, Person.archived_at.is_(None)))
    if person is not None:
        mine = [Task.person_id == person.id]
        name = _("Work of %(person)s", person=person.name)
    elif token and session.scalar(select(Preferences.id).where(Preferences.feed_token == token)) is not None:
        mine, name = [], _("Work in the nursery")
    else:
        raise NotFound(_("There is no such calendar. Its address may have been changed: ask for the new one."))
    kept = today - dt.timedelta(days=KEEP_DAYS)
    query = (
        select(Task)
        .where(
            *mine,
            Task.due_on <= today + dt.timedelta(days=AHEAD_DAYS),
            or_(
                Task.status.in_((TaskStatus.OPEN, TaskStatus.PARTLY)),
                Task.done_on >= kept,
                and_(Task.status.in_(_GONE), Task.due_on >= kept),
            ),
        )
        .options(joinedload(Task.person), joinedload(Task.nursery), joinedload(Task.bench))
        .order_by(Task.due_on, Task.id)
    )
    events = [_event(task, address, names=person is None) for task in session.scalars(query)]
    return calendar_feed(name, events, now=now)


def renew_address(session: Session, actor: str, *, person: Person) -> str:
    """A new private address for a person's feed; the old one leads nowhere from now on."""
    person.feed_token = new_token()
    auditing.record(session, actor, action="new feed address", row=person, details={})
    session.flush()
    return person.feed_token


def renew_common_address(session: Session, actor: str) -> str:
    """The same for the feed of all tasks, made where there was none."""
    preferences = read_preferences(session)
    token = preferences.feed_token = new_token()
    auditing.record(session, actor, action="new feed address", row=preferences, details={})
    session.flush()
    return token


def _event(task: Task, address: Callable[[int], str], *, names: bool) -> AllDay:
    is_span = task.job is Job.COLLECT and task.until_on is not None
    url = address(task.id)
    return AllDay(
        uid=f"{task.uid}@nursery-work",
        sequence=task.sequence,
        first=task.due_on,
        last=task.until_on if is_span and task.until_on is not None else task.due_on,
        summary=_summary(task, names=names),
        description="\n".join(line for line in (*_lines(task), url) if line),
        location=words.where(task),
        category=str(JOB_LABELS[task.job]),
        url=url,
        is_cancelled=task.status in _GONE,
    )


def _summary(task: Task, *, names: bool) -> str:
    parts = [words.title(task), words.species(task)]
    if names and task.person is not None:
        parts.append(task.person.name)
    told = " · ".join(part for part in parts if part)
    return _("Done: %(task)s", task=told) if task.status is TaskStatus.DONE else told


def _lines(task: Task) -> Sequence[str]:
    return [words.amount(task), ", ".join(words.object_codes(task)), words.purpose(task), task.reason]
