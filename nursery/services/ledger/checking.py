"""Whether every lot holds what its movements come to."""

from __future__ import annotations

from sqlalchemy import case, func, or_, select
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.models.movements import Movement
from nursery.services.ledger.moving import BALANCE
from nursery.services.ledger.words import amount_text


def wrong_balances(session: Session) -> list[str]:
    """A sentence for each balance that is not the sum of its lot's movements, in one query."""
    summed = {
        measure: func.coalesce(func.sum(case((Movement.measure == measure, Movement.change), else_=0)), 0)
        for measure in BALANCE
    }
    kept = {measure: func.coalesce(column, 0) for measure, column in BALANCE.items()}
    rows = session.execute(
        select(Lot.code, *kept.values(), *summed.values())
        .outerjoin(Movement, Movement.lot_id == Lot.id)
        .group_by(Lot.id)
        .having(or_(*(kept[measure] != summed[measure] for measure in BALANCE)))
        .order_by(Lot.code)
    ).all()
    return [
        _(
            "Lot %(lot)s holds %(held)s, but its movements come to %(sum)s.",
            lot=code,
            held=amount_text(measure, int(held)),
            sum=amount_text(measure, int(total)),
        )
        for code, *numbers in rows
        for measure, held, total in zip(BALANCE, numbers[:3], numbers[3:], strict=True)
        if held != total
    ]
