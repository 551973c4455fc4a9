"""What happens to batches marks the tasks that asked for it; what is taken back opens them again."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.models import Batch, Count, PlanLine
from nursery.services.work.syncing import Synced, sync_some


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
    target_id = batch.target_id
    if target_id is None and batch.line_id is not None:
        line = session.get(PlanLine, batch.line_id)
        target_id = line.target_id if line is not None else None
    targets = {target_id} if target_id is not None else set()
    return sync_some(session, actor, today=today, targets=targets, batches={batch.id})
