"""Loads that arrived and are to be written down as planted."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from sqlalchemy import and_, case, func, or_, select
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
#: Written down without the load they came by, often before it was taken over.
_UNNAMED = (
    select(Planting.batch_id, Planting.site_id, func.sum(Planting.plants).label("plants"))
    .where(Planting.archived_at.is_(None), Planting.dispatch_line_id.is_(None), Planting.batch_id.is_not(None))
    .group_by(Planting.batch_id, Planting.site_id)
    .subquery("unnamed")
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
    #: Of the planted those whose planting names no load: plants of a batch at a site fill its loads in the order
    #: in which they arrived, so that nobody is asked to write them down a second time.
    unnamed: int

    @property
    def left(self) -> int:
        """Plants that arrived and are in no planting."""
        return max(self.received - self.planted, 0)

    @property
    def open(self) -> int:
        """Plants that arrived and for which no planting names this load."""
        return max(self.received - self.planted + self.unnamed, 0)


def arrived(session: Session, *, site_id: int | None = None) -> list[Arrived]:
    """Lines that wait, oldest first; of one site where it is named. One query."""
    lines = _lines()
    query = select(lines).where(lines.c.left > 0, lines.c.unnamed - lines.c.before < lines.c.left)
    if site_id is not None:
        query = query.where(lines.c.site_id == site_id)
    rows = session.execute(query.order_by(lines.c.received_on, lines.c.line_id).limit(_MOST))
    return [_told(row) for row in rows]


def open_lines(session: Session, *, named: int | None, most: int) -> list[Arrived]:
    """Lines by which a planting can have come, the newest first: those with plants left, and the one it names."""
    lines = _lines()
    query = select(lines).where(or_(lines.c.left > 0, lines.c.line_id == named))
    rows = session.execute(query.order_by(lines.c.received_on.desc(), lines.c.line_id.desc()).limit(most))
    return [_told(row) for row in rows]


def arrived_line(session: Session, line_id: int) -> Arrived | None:
    """One line of a received load; None where it has not arrived."""
    lines = _lines()
    row = session.execute(select(lines).where(lines.c.line_id == line_id)).first()
    return _told(row) if row is not None else None


def _told(row: Any) -> Arrived:
    unnamed = min(max(row.unnamed - row.before, 0), row.left)
    return Arrived(
        row.line_id, row.dispatch_code, row.site_id, row.site_name, row.batch_id, row.batch_code,
        row.species_name, row.received_on, row.received, row.named + unnamed, unnamed,
    )  # fmt: skip


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
    """Lines of received loads; ``left`` of what their own plantings leave, ``before`` the same of those of the
    batch that came to the site earlier."""
    named = func.coalesce(_PLANTED.c.plants, 0)
    left = case((named < _AT_SITE, _AT_SITE - named), else_=0)
    earlier = func.sum(left).over(
        partition_by=(DispatchLine.batch_id, Dispatch.site_id),
        order_by=(Dispatch.received_on, DispatchLine.id),
        rows=(None, -1),
    )
    return (
        select(
            DispatchLine.id.label("line_id"), Dispatch.code.label("dispatch_code"), Dispatch.site_id,
            Site.name.label("site_name"), DispatchLine.batch_id, Batch.code.label("batch_code"),
            Species.scientific_name.label("species_name"), Dispatch.received_on, _AT_SITE.label("received"),
            named.label("named"), left.label("left"), func.coalesce(earlier, 0).label("before"),
            func.coalesce(_UNNAMED.c.plants, 0).label("unnamed"),
        )
        .join(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
        .join(Site, Dispatch.site_id == Site.id)
        .join(Batch, DispatchLine.batch_id == Batch.id)
        .join(Species, Batch.species_id == Species.id)
        .outerjoin(_GONE, _GONE.c.line_id == DispatchLine.id)
        .outerjoin(_PLANTED, _PLANTED.c.dispatch_line_id == DispatchLine.id)
        .outerjoin(
            _UNNAMED, and_(_UNNAMED.c.batch_id == DispatchLine.batch_id, _UNNAMED.c.site_id == Dispatch.site_id)
        )
        .where(
            Dispatch.status == DispatchStatus.RECEIVED, Dispatch.archived_at.is_(None), DispatchLine.received > 0
        )
        .subquery("arrived")
    )  # fmt: skip
