"""What leaves a lot for good: samples, seed to sow, gifts, waste."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.services.ledger.moving import check_act, move

#: Acts that take from a lot and give to no other.
TAKING = (MovementKind.SAMPLED, MovementKind.WITHDRAWN, MovementKind.GIVEN, MovementKind.DISCARDED)
#: Of these nobody knows afterwards where the seed went, unless the reason says so.
_NEED_A_REASON = {
    MovementKind.GIVEN: _l("Write down who received it."),
    MovementKind.DISCARDED: _l("Write down why it was discarded."),
}


def take_from_lot(
    session: Session,
    actor: str,
    *,
    lot: Lot,
    kind: MovementKind,
    measure: Measure,
    amount: int,
    reason: str = "",
    happened_on: dt.date,
    today: dt.date,
) -> Movement:
    """Take an amount (milligrams or pieces) out of a lot; a lot on hold is not sown."""
    if kind not in TAKING:
        raise ValueError(f"{kind} takes nothing from a lot")
    check_act(lot, happened_on=happened_on, today=today, amount=amount)
    if kind in _NEED_A_REASON and not reason.strip():
        raise Invalid({"reason": str(_NEED_A_REASON[kind])})
    if kind is MovementKind.WITHDRAWN and lot.is_held:
        raise Invalid(
            {
                "amount": _(
                    "%(lot)s is on hold because no permit covers it. It can be sown once somebody who may do so"
                    " has released it with a reason.",
                    lot=lot.code,
                )
            }
        )
    return move(
        session, actor, lot=lot, kind=kind, measure=measure, change=-amount, reason=reason.strip(),
        happened_on=happened_on,
    )  # fmt: skip
