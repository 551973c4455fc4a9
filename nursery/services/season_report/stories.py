"""What went otherwise than planned, and what people decided against the rules: both stand on every report."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Change, Decision, Deviation, Dispatch, DispatchLine, Lot, Planting, PlantMovement
from nursery.models.decisions import DecisionKind
from nursery.services.season_report.scope import Scope


@dataclass(frozen=True)
class Told:
    """A deviation as it was written down."""

    day: dt.date
    site_id: int | None
    what: str
    why: str
    action: str


@dataclass(frozen=True)
class Overridden:
    """Something that a rule would have stopped, and who let it through, why and when."""

    #: ``origin``: seed at a site its rules keep it from; ``permit``: a lot no permit covers; ``paper``: a load
    #: that went without a paper that applies; ``substitute``: a batch in place of another.
    kind: str
    what: str
    site_id: int | None
    person: str
    day: dt.date
    reason: str
    withdrawn_on: dt.date | None = None


def read_deviations(session: Session, scope: Scope) -> list[Told]:
    """The season's log, oldest first."""
    rows = session.execute(
        select(Deviation.happened_on, Deviation.site_id, Deviation.what, Deviation.why, Deviation.action)
        .where(Deviation.season == scope.season, Deviation.archived_at.is_(None))
        .order_by(Deviation.happened_on, Deviation.id)
    )
    return [Told(*row) for row in rows]


def read_overrides(session: Session, scope: Scope) -> list[Overridden]:
    """Of origin, permits and papers, in three queries."""
    return sorted(
        [*_of_origin(session, scope), *_of_permits(session, scope), *_of_loads(session, scope)],
        key=lambda one: (one.day, one.kind, one.what),
    )


def _of_origin(session: Session, scope: Scope) -> list[Overridden]:
    """Overrides that stood in the season, and those, whenever made, of lots that were planted there in it."""
    planted = select(Planting.id).where(
        Planting.lot_id == Decision.lot_id, Planting.site_id == Decision.site_id, Planting.archived_at.is_(None),
        Planting.planted_on.between(scope.first, scope.last),
    )  # fmt: skip
    sent = (
        select(PlantMovement.id)
        .join(Batch, PlantMovement.batch_id == Batch.id)
        .where(
            Batch.lot_id == Decision.lot_id, PlantMovement.site_id == Decision.site_id,
            PlantMovement.happened_on.between(scope.first, scope.last),
        )
    )  # fmt: skip
    rows = session.execute(
        select(
            Lot.code, Decision.site_id, Decision.person, Decision.at, Decision.reason, Decision.withdrawn_at,
            or_(planted.exists(), sent.exists()),
        )
        .join(Decision.lot)
        .where(Decision.kind == DecisionKind.OVERRIDE)
        .order_by(Decision.id)
    )  # fmt: skip
    found = []
    for code, site_id, person, at, reason, withdrawn_at, was_used in rows:
        stood = at.date() <= scope.last and (withdrawn_at is None or withdrawn_at.date() >= scope.first)
        if was_used or stood:
            until = withdrawn_at.date() if withdrawn_at else None
            found.append(Overridden("origin", code, site_id, person, at.date(), reason, until))
    return found


def _of_permits(session: Session, scope: Scope) -> list[Overridden]:
    rows = session.execute(
        select(Lot.code, Lot.released_by, Lot.released_at, Lot.release_reason)
        .where(Lot.released_at.is_not(None), Lot.archived_at.is_(None))
        .order_by(Lot.id)
    )
    return [
        Overridden("permit", code, None, person, at.date(), reason)
        for code, person, at, reason in rows
        if at is not None and scope.holds(at.date())
    ]


def _of_loads(session: Session, scope: Scope) -> list[Overridden]:
    sender = (
        select(Change.person)
        .where(Change.subject == "dispatches", Change.subject_id == Dispatch.id, Change.action == "load sent")
        .order_by(Change.id.desc())
        .limit(1)
        .scalar_subquery()
    )
    rows = session.execute(
        select(
            Dispatch.code, Dispatch.site_id, sender, Dispatch.sent_on, Dispatch.reason,
            DispatchLine.reason, DispatchLine.substitutes_id, Batch.code,
        )
        .join(DispatchLine.dispatch)
        .join(Batch, DispatchLine.batch_id == Batch.id)
        .where(Dispatch.sent_on.between(scope.first, scope.last), Dispatch.archived_at.is_(None))
        .order_by(Dispatch.id, DispatchLine.id)
    )  # fmt: skip
    found: dict[tuple[str, str], Overridden] = {}
    for load, site_id, person, day, reason, own, substitutes, batch in rows:
        if day is None:
            continue
        if reason:
            found[load, ""] = Overridden("paper", load, site_id, person or "", day, reason)
        if substitutes is not None:
            found[load, batch] = Overridden("substitute", f"{load} · {batch}", site_id, person or "", day, own)
    return list(found.values())
