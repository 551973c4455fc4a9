"""Taking an act of the ledger back where it belongs to a load: the load follows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import Dispatch, DispatchLine, PlantMovement, ReturnedPlants
from nursery.models.batches import PlantMovementKind
from nursery.services.batches.reversing import reverse_act
from nursery.services.dispatches.planning import cancel_load
from nursery.services.dispatches.reasons import check_reason
from nursery.services.dispatches.returning import undo_decision
from nursery.services.dispatches.sending import take_back
from nursery.services.dispatches.settling import loss_mark


def take_act_back(
    session: Session, actor: str, *, act: str, reason: str, today: dt.date
) -> Sequence[PlantMovement] | Dispatch | ReturnedPlants:
    """As `batches.reverse_act`; of a load's only line, the load is taken back and cancelled; of a decision about
    plants that came back, they stand apart again.

    Raises
    ------
    Conflict
        Also for one of several lines of a load, and for plants that were missing: those are taken back on the
        load's page, as a whole.
    """
    check_reason(reason)
    if (line := line_of_act(session, act)) is not None:
        if len(line.dispatch.lines) > 1:
            raise Conflict(
                _(
                    "These plants left with %(load)s, among others. Take the whole load back on its page, and send"
                    " it again as it went.",
                    load=line.dispatch.code,
                )
            )
        load = take_back(session, actor, load=line.dispatch, reason=reason, today=today)
        return cancel_load(session, actor, load=load, reason=reason)
    if (row := return_of_act(session, act)) is not None:
        if row.is_missing:
            raise Conflict(
                _(
                    "These plants were missing when %(load)s was taken over. Take the receipt back on its page.",
                    load=row.line.dispatch.code,
                )
            )
        return undo_decision(session, actor, row=row, reason=reason, today=today)
    return reverse_act(session, actor, act=act, reason=reason, today=today)


def line_of_act(session: Session, act: str) -> DispatchLine | None:
    """The line whose plants left by an act."""
    return session.scalar(select(DispatchLine).where(DispatchLine.act == act)) if act else None


def return_of_act(session: Session, act: str) -> ReturnedPlants | None:
    """The plants that came back, or were lost, by an act."""
    batches = select(PlantMovement.batch_id).where(
        PlantMovement.act == act,
        PlantMovement.kind.in_((PlantMovementKind.RETURNED, PlantMovementKind.LOST)),
    )
    rows = session.scalars(
        select(ReturnedPlants)
        .join(DispatchLine, ReturnedPlants.line_id == DispatchLine.id)
        .where(ReturnedPlants.act != "", DispatchLine.batch_id.in_(batches))
    )
    return next((row for row in rows if act in {row.act, loss_mark(row.act)}), None)
