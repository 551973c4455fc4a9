"""Plants that came back and wait for a decision: neither alive in their batch nor standing at the site.

The ledger has them as dispatched until somebody decides; whoever asks what is at a site takes these off.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from typing import NamedTuple

from sqlalchemy import ColumnElement, Select, Subquery, case, func, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Dispatch, DispatchLine, ReturnedPlants, Target


class Waiting(NamedTuple):
    """Plants of one batch that came back from a site on one day."""

    batch_id: int
    site_id: int
    target_id: int | None
    #: What the batch itself is grown for, where that is at this site.
    own_target_id: int | None
    returned_on: dt.date
    plants: int


def waiting_by_site() -> Subquery:
    """Plants that wait, by ``batch_id`` and ``site_id``."""
    return (
        select(DispatchLine.batch_id, Dispatch.site_id, func.sum(ReturnedPlants.plants).label("plants"))
        .join(DispatchLine, ReturnedPlants.line_id == DispatchLine.id)
        .join(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
        .where(ReturnedPlants.decision.is_(None))
        .group_by(DispatchLine.batch_id, Dispatch.site_id)
        .subquery()
    )


def read_waiting(
    session: Session, batch_ids: Collection[int] | Select[int] | None = None, *where: ColumnElement[bool]
) -> list[Waiting]:
    """Every return that waits, the oldest first, in one query; of some batches where they are named."""
    query = (
        select(
            DispatchLine.batch_id, Dispatch.site_id, DispatchLine.target_id,
            case((Target.site_id == Dispatch.site_id, Batch.target_id)), ReturnedPlants.returned_on,
            ReturnedPlants.plants,
        )
        .join(DispatchLine, ReturnedPlants.line_id == DispatchLine.id)
        .join(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
        .join(Batch, DispatchLine.batch_id == Batch.id)
        .outerjoin(Target, Batch.target_id == Target.id)
        .where(ReturnedPlants.decision.is_(None), *where)
        .order_by(ReturnedPlants.returned_on, ReturnedPlants.id)
    )  # fmt: skip
    if batch_ids is not None:
        query = query.where(DispatchLine.batch_id.in_(batch_ids))
    return [Waiting(*row) for row in session.execute(query)]
