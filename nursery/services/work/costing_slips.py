"""What late tasks cost their season if they are done today: nothing is written."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from sqlalchemy.orm import Session

from nursery.models import Task
from nursery.planning.work.words import Job, TaskStatus
from nursery.services.work.season import Slip, tell_slip
from nursery.services.work.slipping import followers, planting_key

_FINISHED = (TaskStatus.DONE, TaskStatus.SKIPPED)


def slips_if_done(session: Session, late: Sequence[Task], day: dt.date) -> Mapping[int, Slip]:
    """For each task by itself: which of those behind it would move if it were done on ``day``; in two queries."""
    if not late:
        return {}
    behind: defaultdict[int, list[Task]] = defaultdict(list)
    found = followers(session, late)
    plantings = {task.key: task for task in found if task.job is Job.DISPATCH}
    for task in found:
        behind[task.after_id or 0].append(task)
    for task in (*late, *found):
        planting = plantings.get(planting_key(task))
        if planting is not None and planting.after_id != task.id:
            behind[task.id].append(planting)
    return {task.id: _slip(task, behind, day) for task in late}


def _slip(task: Task, behind: Mapping[int, Sequence[Task]], day: dt.date) -> Slip:
    chain = [(task, max(day, task.due_on)), *_pushed(task, max(day, task.due_on), behind)]
    before = {one.id: one.due_on for one, _after in chain}
    return tell_slip([one for one, _after in chain], before, {one.id: after for one, after in chain})


def _pushed(task: Task, day: dt.date, behind: Mapping[int, Sequence[Task]]) -> Iterator[tuple[Task, dt.date]]:
    """Open tasks behind one, with the days on which they could be done."""
    for one in behind.get(task.id, ()):
        if one.status in _FINISHED:
            continue
        gap = one.gap_days or 0 if one.after_id == task.id else 0
        after = max(one.due_on, day + dt.timedelta(days=gap))
        yield one, after
        yield from _pushed(one, after, behind)
