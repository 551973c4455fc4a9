"""From fruit to clean seed."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.services.ledger.moving import check_act, held_now, move, new_act, seed_measure, whole_act
from nursery.services.ledger.words import amount_text


def extract_seed(
    session: Session,
    actor: str,
    *,
    lot: Lot,
    fruit_mg: int,
    seed: int,
    reason: str = "",
    happened_on: dt.date,
    today: dt.date,
) -> float | None:
    """Fruit out, seed (milligrams or pieces) in, as one act; the yield by weight, None where seed is counted."""
    check_act(lot, happened_on=happened_on, today=today)
    refused = {}
    measure = seed_measure(lot)
    if fruit_mg <= 0:
        refused["fruit"] = _("Give the weight of the fruit that was processed.")
    if seed <= 0:
        refused["amount"] = _("Give the clean seed that came out; fruit that gave none is discarded.")
    elif measure is Measure.SEED and seed > fruit_mg > 0:
        refused["amount"] = _("More seed than fruit cannot be. Check both weights and their units.")
    if refused:
        raise Invalid(refused)
    act = new_act()
    with whole_act(session, [lot]):
        try:
            move(
                session, actor, lot=lot, kind=MovementKind.EXTRACTED, measure=Measure.FRUIT, change=-fruit_mg,
                reason=reason, happened_on=happened_on, act=act,
            )  # fmt: skip
        except Invalid as refusal:
            raise Invalid({"fruit": str(refusal)}) from refusal
        move(
            session, actor, lot=lot, kind=MovementKind.EXTRACTED, measure=measure, change=seed, reason=reason,
            happened_on=happened_on, act=act,
        )  # fmt: skip
    return seed / fruit_mg if measure is Measure.SEED else None


def clean_lot(
    session: Session,
    actor: str,
    *,
    lot: Lot,
    left: int,
    reason: str = "",
    happened_on: dt.date,
    today: dt.date,
) -> Movement:
    """Write down what is left after cleaning; the loss leaves the lot."""
    check_act(lot, happened_on=happened_on, today=today)
    measure = seed_measure(lot)
    session.flush()
    before = held_now(session, lot, measure)
    if not 0 <= left < before:
        raise Invalid(
            {
                "amount": _(
                    "%(lot)s held %(held)s before cleaning; less must be left after it. Recount the lot if it"
                    " holds more than the ledger says.",
                    lot=lot.code,
                    held=amount_text(measure, before),
                )
            }
        )
    return move(
        session, actor, lot=lot, kind=MovementKind.CLEANED, measure=measure, change=left - before, reason=reason,
        happened_on=happened_on,
    )  # fmt: skip
