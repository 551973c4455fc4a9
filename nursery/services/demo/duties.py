"""Who does what in the demo: the tasks of the running crop are given out by the kind of work."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Person, Task
from nursery.planning.work.words import Job, TaskStatus
from nursery.services.work.doing import assign_tasks
from nursery.services.work.feeds import renew_common_address

#: Work that somebody has taken on; the rest is nobody's yet.
_DUTIES: Mapping[Job, str] = {
    Job.COUNT: "Salma",
    Job.PRICK_OUT: "Inês",
    Job.GRADE: "Inês",
    Job.MOVE: "Tomé",
    Job.HARDEN: "Tomé",
    Job.THIN: "Volunteers of the river",
}


def give_out(session: Session, actor: str, people: Sequence[Person]) -> None:
    """Give open tasks to the people of the table, and make the address of the feed of all tasks."""
    by_name = {person.name: person.id for person in people}
    open_tasks = session.scalars(select(Task).where(Task.status == TaskStatus.OPEN).order_by(Task.id)).all()
    for name in dict.fromkeys(_DUTIES.values()):
        theirs = [task for task in open_tasks if _DUTIES.get(task.job) == name]
        assign_tasks(session, actor, tasks=theirs, person_id=by_name[name])
    renew_common_address(session, actor)
