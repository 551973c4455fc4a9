"""What happens to batches marks the tasks that asked for it; what is taken back opens them again."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator
from contextlib import contextmanager

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Count, PlanLine
from nursery.services.work.syncing import Synced, sync_some

#: Where a session keeps the batches whose tasks follow later.
_WAITING = "batches whose tasks follow"


@contextmanager
def all_at_once(session: Session, actor: str, *, today: dt.date) -> Iterator[None]:
    """Many acts in a row: tasks follow once, after the last, since they show what the records say."""
    waiting: set[int] = set()
    session.info[_WAITING] = waiting
    try:
        yield
    finally:
        del session.info[_WAITING]
    if waiting:
        _follow(session, actor, waiting, today)


def note_sown(session: Session, actor: str, *, batch: Batch, today: dt.date) -> Synced:
    """A batch was sown: its withdrawal and its sowing are done, wholly or in part, and it has tasks of its own."""
    return note_batch(session, actor, batch=batch, today=today)


def note_counted(session: Session, actor: str, *, count: Count, today: dt.date) -> Synced:
    """A batch was counted, or a count was withdrawn."""
    return note_batch(session, actor, batch=count.batch, today=today)


def note_dispatched(
    session: Session, actor: str, *, batch: Batch, plants: int, happened_on: dt.date, today: dt.date
) -> Synced:
    """Plants went out to their site, or came back; the ledger, which has them already, says how many in all."""
    del plants, happened_on
    return note_batch(session, actor, batch=batch, today=today)


def note_batch(session: Session, actor: str, *, batch: Batch, today: dt.date) -> Synced:
    """Something was done to a batch: its tasks and those of its target are as the records now show."""
    session.flush()
    if (waiting := session.info.get(_WAITING)) is not None:
        waiting.add(batch.id)
        return Synced(0, 0, 0)
    return _follow(session, actor, {batch.id}, today)


def _follow(session: Session, actor: str, batches: Collection[int], today: dt.date) -> Synced:
    session.flush()
    rows = session.execute(
        select(Batch.target_id, PlanLine.target_id)
        .outerjoin(PlanLine, Batch.line_id == PlanLine.id)
        .where(Batch.id.in_(batches))
    )
    targets = {target if target is not None else asked for target, asked in rows} - {None}
    return sync_some(session, actor, today=today, targets=targets, batches=batches)
