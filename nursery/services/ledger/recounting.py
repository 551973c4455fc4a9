"""Setting a lot to what was weighed or counted again."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.services.ledger.moving import check_act, held_now, move
from nursery.services.permits.holding import check_lots
from nursery.services.permits.overruns import accounts_now


def recount_lot(
    session: Session,
    actor: str,
    *,
    lot: Lot,
    measure: Measure,
    counted: int,
    reason: str,
    happened_on: dt.date,
    today: dt.date,
) -> Movement | None:
    """Write the difference between ledger and count down; None where they agree."""
    check_act(lot, happened_on=happened_on, today=today)
    if counted < 0:
        raise Invalid({"amount": _("A count cannot be below zero.")})
    session.flush()
    difference = counted - held_now(session, lot, measure)
    if difference == 0:
        return None
    more = difference > 0 and lot.permit_id is not None
    before = accounts_now(session, {lot.species_id}) if more else None
    moved = move(
        session, actor, lot=lot, kind=MovementKind.RECOUNTED, measure=measure, change=difference, reason=reason,
        happened_on=happened_on,
    )  # fmt: skip
    if more:
        check_lots(session, actor, [lot.id], before=before)  # what was found was taken under the same permit
    return moved
