"""Loads that arrived and are to be written down as planted."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Dispatch, DispatchLine, Planting, ReturnedPlants, Site, Species, Target
from nursery.models.dispatches import DispatchStatus
from nursery.services.batches.origins import batch_lots

#: A page names so many; the loads have a list of their own.
_MOST = 50
_PLANTED = (
    select(Planting.dispatch_line_id, func.sum(Planting.plants).label("plants"))
    .where(Planting.archived_at.is_(None), Planting.dispatch_line_id.is_not(None))
    .group_by(Planting.dispatch_line_id)
    .subquery("planted")
)
#: Came back from the site, or never got there.
_GONE = (
    select(ReturnedPlants.line_id, func.sum(ReturnedPlants.plants).label("plants"))
    .group_by(ReturnedPlants.line_id)
    .subquery("gone")
)
#: What stands at the site: taken over, less what came back since.
_STANDING = DispatchLine.sent - func.coalesce(_GONE.c.plants, 0)
_AT_SITE = case((DispatchLine.received > _STANDING, _STANDING), else_=DispatchLine.received)


@dataclass(frozen=True, slots=True)
class Arrived:
    """A line of a load that was received, and how much of it nobody has written down as planted."""

    line_id: int
    dispatch_code: str
    site_id: int
    site_name: str
    batch_id: int
    batch_code: str
    species_name: str
    received_on: dt.date
    #: Less what came back since.
    received: int
    planted: int

    @property
    def left(self) -> int:
        """Plants that arrived and are in no planting."""
        return max(self.received - self.planted, 0)


def arrived(session: Session, *, site_id: int | None = None) -> list[Arrived]:
    """Lines that wait, oldest first; of one site where it is named. One query."""
    query = _lines().where(func.coalesce(_PLANTED.c.plants, 0) < _AT_SITE)
    if site_id is not None:
        query = query.where(Dispatch.site_id == site_id)
    rows = session.execute(query.order_by(Dispatch.received_on, DispatchLine.id).limit(_MOST))
    return [Arrived(*row) for row in rows]


def arrived_line(session: Session, line_id: int) -> Arrived | None:
    """One line of a received load; None where it has not arrived."""
    row = session.execute(_lines().where(DispatchLine.id == line_id)).first()
    return Arrived(*row) if row is not None else None


def prefilled(session: Session, line_id: int) -> dict[str, Any]:
    """What the form of a planting takes over from a line of a received load; nothing where it has not arrived.

    Of a mixed batch the lot that most plants are of is named.
    """
    line = arrived_line(session, line_id)
    if line is None:
        return {}
    shares = batch_lots(session, [line.batch_id])[line.batch_id]
    target = session.scalar(
        select(Target).join(DispatchLine, DispatchLine.target_id == Target.id).where(DispatchLine.id == line_id)
    )
    return {
        "site_id": line.site_id,
        "batch_id": line.batch_id,
        "lot_id": max(shares, key=lambda lot_id: (shares[lot_id], -lot_id)) if shares else None,
        "planted_on": line.received_on,
        "plants": line.left or line.received,
        "dispatch_line_id": line.line_id,
        "is_replacement": target is not None and 0 < (target.plants or 0) <= target.replacements,
    }


def _lines() -> Any:
    return (
        select(
            DispatchLine.id, Dispatch.code, Dispatch.site_id, Site.name, Batch.id, Batch.code,
            Species.scientific_name, Dispatch.received_on, _AT_SITE,
            func.coalesce(_PLANTED.c.plants, 0),
        )
        .join(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
        .join(Site, Dispatch.site_id == Site.id)
        .join(Batch, DispatchLine.batch_id == Batch.id)
        .join(Species, Batch.species_id == Species.id)
        .outerjoin(_GONE, _GONE.c.line_id == DispatchLine.id)
        .outerjoin(_PLANTED, _PLANTED.c.dispatch_line_id == DispatchLine.id)
        .where(
            Dispatch.status == DispatchStatus.RECEIVED, Dispatch.archived_at.is_(None), DispatchLine.received > 0
        )
    )  # fmt: skip
