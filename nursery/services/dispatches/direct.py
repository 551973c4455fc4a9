"""Plants sent to a site, or back from it, on the page of their batch: behind it stands a load of one line.

So there is one way in which plants leave, and one in which they come back.
"""

from __future__ import annotations

import datetime as dt

from sqlalchemy import select
from sqlalchemy.orm import Session, aliased

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, Dispatch, DispatchLine, PlantMovement, ReturnedPlants, Site
from nursery.models.batches import PlantMovementKind
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.services import records
from nursery.services.batches.dispatching import dispatch
from nursery.services.batches.moving import check_act
from nursery.services.batches.words import plants_text
from nursery.services.codes import next_code
from nursery.services.dispatches.holding import note
from nursery.services.dispatches.reasons import check_reason
from nursery.services.dispatches.returning import decide, note_return
from nursery.services.dispatches.sums import line_sums
from nursery.services.dispatches.trays import counts_in_trays, trays_for


def send_directly(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    site_id: int,
    plants: int,
    happened_on: dt.date,
    today: dt.date,
    target_id: int | None = None,
    trays_left: int | None = None,
    reason: str = "",
) -> PlantMovement:
    """Plants that left without a load being planned: a load of one line is written down as sent.

    What the rules of origin say is told and refuses nothing, since it has happened. Raises as `batches.dispatch`.
    """
    check_reason(reason)
    trays = _trays_gone(batch, plants, trays_left)
    with session.begin_nested():
        moved = dispatch(
            session, actor, batch=batch, site_id=site_id, plants=plants, happened_on=happened_on, today=today,
            target_id=target_id, trays_left=trays_left, trays=trays, reason=reason,
        )  # fmt: skip
        _write_down(session, actor, moved, trays)
    return moved


def _trays_gone(batch: Batch, plants: int, trays_left: int | None) -> int | None:
    if not counts_in_trays(batch) or plants < 1:
        return None
    return trays_for(batch, plants) if trays_left is None else max(batch.trays - trays_left, 0)


def bring_back_directly(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    site_id: int,
    plants: int,
    happened_on: dt.date,
    today: dt.date,
    condition: str = "",
    decision: ReturnDecision | None = None,
    reason: str = "",
) -> list[ReturnedPlants]:
    """Plants of a batch came back from a site: of the newest load first. Without a decision they stand apart.

    Raises
    ------
    Invalid
        At ``plants`` for more than went there; else as `note_return` and `decide`.
    """
    check_act(batch, happened_on=happened_on, today=today, plants=plants)
    site = records.get(session, Site, site_id)
    with session.begin_nested():
        adopt(session, actor, batch)
        lines = _lines(session, batch, site)
        there = sum(line_sums(line).at_site for line in lines)
        if plants > there:
            raise Invalid(
                {
                    "plants": _(
                        "Of %(batch)s, %(there)s went to %(site)s; no more can come back.",
                        batch=batch.code,
                        there=plants_text(there),
                        site=site.name,
                    )
                }
            )
        rows, left = [], plants
        for line in lines:
            some = min(left, line_sums(line).at_site)
            if not some:
                continue
            left -= some
            row = note_return(
                session, actor, line=line, plants=some, returned_on=happened_on, condition=condition, today=today
            )
            if decision is not None:
                decide(
                    session, actor, row=row, decision=decision, reason=reason, decided_on=happened_on, today=today
                )
            rows.append(row)
    return rows


def adopt(session: Session, actor: str, batch: Batch) -> list[Dispatch]:
    """Give what a batch sent before there were loads a load of one line each, with what came back of it."""
    undo = aliased(PlantMovement)
    rows = session.scalars(
        select(PlantMovement)
        .outerjoin(undo, undo.reverses_id == PlantMovement.id)
        .where(
            PlantMovement.batch_id == batch.id, undo.id.is_(None),
            PlantMovement.kind.in_((PlantMovementKind.DISPATCHED, PlantMovementKind.RETURNED)),
            PlantMovement.act.not_in(select(DispatchLine.act)),
            PlantMovement.act.not_in(select(ReturnedPlants.act)),
        )
        .order_by(PlantMovement.id)
    ).all()  # fmt: skip
    loads = [_write_down(session, actor, row) for row in rows if row.kind is PlantMovementKind.DISPATCHED]
    for row in rows:
        if row.kind is PlantMovementKind.RETURNED:
            _adopt_return(session, row, [load for load in loads if load.site_id == row.site_id])
    return loads


def _adopt_return(session: Session, moved: PlantMovement, loads: list[Dispatch]) -> None:
    left = moved.change
    for load in reversed(loads):
        day = max(moved.happened_on, load.sent_on or moved.happened_on)
        line = load.lines[0]
        some = min(left, line_sums(line).at_site)
        if not some:
            continue
        left -= some
        session.add(
            ReturnedPlants(
                line_id=line.id, plants=some, returned_on=day,
                person=moved.person, decision=ReturnDecision.BACK_IN_STOCK,
                decided_on=day, decided_by=moved.person,
                decided_reason=moved.reason or _("Written down before loads were"), act=moved.act,
            )
        )  # fmt: skip
        session.flush()
        session.expire(line, ["returns"])


def _write_down(session: Session, actor: str, moved: PlantMovement, trays: int | None = None) -> Dispatch:
    site = records.get(session, Site, moved.site_id or 0)
    load = records.create(
        session, actor, Dispatch,
        {
            "code": next_code(session, Dispatch.code, f"L{moved.happened_on:%y}-"), "site_id": site.id,
            "recipient_id": site.recipient_id, "planned_on": moved.happened_on, "sent_on": moved.happened_on,
            "status": DispatchStatus.SENT, "notes": moved.reason,
        },
    )  # fmt: skip
    session.add(
        DispatchLine(
            dispatch_id=load.id, position=1, batch_id=moved.batch_id, target_id=moved.target_id,
            plants=-moved.change, sent=-moved.change, trays=trays, act=moved.act,
        )
    )  # fmt: skip
    session.flush()
    session.expire(load, ["lines"])
    note(session, actor, load, "load sent", {"plants": [None, -moved.change]})
    return load


def _lines(session: Session, batch: Batch, site: Site) -> list[DispatchLine]:
    query = (
        select(DispatchLine)
        .join(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
        .where(
            DispatchLine.batch_id == batch.id, Dispatch.site_id == site.id, Dispatch.archived_at.is_(None),
            Dispatch.status.in_((DispatchStatus.SENT, DispatchStatus.RECEIVED)),
        )
        .order_by(Dispatch.sent_on.desc(), DispatchLine.id.desc())
    )  # fmt: skip
    return list(session.scalars(query))
