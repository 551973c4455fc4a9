"""Taking an act back: each of its movements gets its counter-movement, and both stay visible."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.services import records
from nursery.services.ledger.moving import held, lock_in_order, move, new_act, seed_measure, whole_act
from nursery.services.permits.holding import check_lots
from nursery.services.permits.overruns import accounts_now


def reverse_act(session: Session, actor: str, *, act: str, reason: str, today: dt.date) -> list[Movement]:
    """Take every movement of an act back together, or refuse and change nothing.

    A lot that the act had made is put aside once nothing is left in it.
    """
    if not reason.strip():
        raise Invalid({"reason": _("Write down why this is taken back.")})
    rows = session.scalars(select(Movement).where(Movement.act == act).order_by(Movement.id)).all()
    if not rows:
        raise NotFound(_("There is no such movement."))
    if any(row.kind is MovementKind.REVERSAL for row in rows):
        raise Invalid(
            {"reason": _("What took a movement back is not taken back itself. Write the act down again.")}
        )
    lock_in_order(session, Lot, [row.lot_id for row in rows])
    if session.scalar(select(Movement.id).where(Movement.reverses_id.in_([row.id for row in rows])).limit(1)):
        raise Conflict(_("This has been taken back already."))
    lots = {lot.id: lot for lot in session.scalars(select(Lot).where(Lot.id.in_({row.lot_id for row in rows})))}
    counter = new_act()
    counted = [lot for lot in lots.values() if lot.permit_id is not None and _counts(rows)]
    before = accounts_now(session, {lot.species_id for lot in counted}) if counted else None
    with whole_act(session, lots.values()):
        # What leaves a lot goes first: where that is refused nothing else need be looked at.
        done = [
            move(
                session, actor, lot=lots[row.lot_id], kind=MovementKind.REVERSAL, measure=row.measure,
                change=-row.change, reason=reason.strip(), happened_on=today, act=counter,
                other_lot=lots.get(row.other_lot_id or 0), reverses=row,
            )
            for row in sorted(rows, key=lambda row: -row.change)
        ]  # fmt: skip
        for lot in lots.values():
            if _was_made(rows, lot) and not held(lot, seed_measure(lot)) and not held(lot, Measure.FRUIT):
                records.archive(session, actor, lot)
    if counted:
        check_lots(session, actor, [lot.id for lot in counted], before=before)
    return done


def _counts(rows: Sequence[Movement]) -> bool:
    """Whether what was taken under a permit may be more once these are taken back: see `permits.takings`."""
    return any(row.kind in {MovementKind.CLEANED, MovementKind.RECOUNTED} for row in rows)


def _was_made(rows: Sequence[Movement], lot: Lot) -> bool:
    return any(
        row.lot_id == lot.id and row.change > 0 and row.kind in {MovementKind.SPLIT, MovementKind.MIXED}
        for row in rows
    )
