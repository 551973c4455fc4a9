"""Plants that planned loads keep for their sites; they stand in their batches until the load goes."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Dispatch, DispatchLine
from nursery.models.dispatches import DispatchStatus

#: SQLite takes so many values in one statement, and more.
_AT_ONCE = 5_000


def reserved(
    session: Session, batch_ids: Collection[int] | None = None, *, without: int | None = None
) -> dict[int, int]:
    """Plants by batch id that planned loads ask for; of some batches where they are named.

    ``without`` leaves one load out.
    """
    query = (
        select(DispatchLine.batch_id, func.sum(DispatchLine.plants))
        .join(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
        .where(Dispatch.status == DispatchStatus.PLANNED, Dispatch.archived_at.is_(None))
        .group_by(DispatchLine.batch_id)
    )
    if without is not None:
        query = query.where(Dispatch.id != without)
    if batch_ids is None:
        return {batch_id: int(plants) for batch_id, plants in session.execute(query)}
    wanted = sorted(set(batch_ids))
    return {
        batch_id: int(plants)
        for start in range(0, len(wanted), _AT_ONCE)
        for batch_id, plants in session.execute(
            query.where(DispatchLine.batch_id.in_(wanted[start : start + _AT_ONCE]))
        )
    }
