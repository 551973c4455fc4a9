"""Seed that is given to a recipient, and the acts of the ledger for which papers can be drawn up."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session, aliased

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import Lot, Movement, Recipient
from nursery.models.movements import Measure, MovementKind
from nursery.models.recipients import RecipientKind
from nursery.services.ledger import take_from_lot
from nursery.services.papers.consignments import Consignment, consign_seed


def give(
    session: Session, actor: str, *, lot: Lot, recipient: Recipient, amount: int, measure: Measure,
    happened_on: dt.date, today: dt.date, remark: str = "",
) -> Movement:  # fmt: skip
    """Take seed out of a lot for a recipient, whose name stands first in the ledger's reason."""
    reason = f"{recipient.name}: {remark.strip()}" if remark.strip() else recipient.name
    return take_from_lot(
        session, actor, lot=lot, kind=MovementKind.GIVEN, measure=measure, amount=amount, reason=reason[:400],
        happened_on=happened_on, today=today,
    )  # fmt: skip


def gifts(session: Session, lot: Lot) -> Sequence[Movement]:
    """Seed given from a lot, newest first; what was taken back is left out."""
    undone = aliased(Movement)
    return session.scalars(
        select(Movement)
        .outerjoin(undone, undone.reverses_id == Movement.id)
        .where(
            Movement.lot_id == lot.id, Movement.kind == MovementKind.GIVEN,
            Movement.measure.in_((Measure.SEED, Measure.PIECES)), undone.id.is_(None),
        )
        .order_by(Movement.id.desc())
    ).all()  # fmt: skip


def recipient_named(session: Session, reason: str) -> Recipient | None:
    """The recipient whose name stands first in a reason; the longest name where several do."""
    rows = session.scalars(select(Recipient).where(Recipient.archived_at.is_(None)))
    told = reason.casefold()
    fitting = [row for row in rows if told == row.name.casefold() or told.startswith(f"{row.name.casefold()}:")]
    return max(fitting, key=lambda row: len(row.name), default=None)


def consign_gift(session: Session, lot: Lot, act: str, day: dt.date) -> Consignment:
    """What was given by one act of a lot's ledger, for its papers."""
    gift = next((one for one in gifts(session, lot) if one.act == act), None)
    if gift is None:
        raise NotFound(_("No seed of %(lot)s was given by such an act.", lot=lot.code))
    # Somebody took it over, whoever it was: papers must not be left out because nobody is named.
    recipient = recipient_named(session, gift.reason) or Recipient(
        name=gift.reason, kind=RecipientKind.PROFESSIONAL, address="", country=""
    )
    return consign_seed(
        session, lot, recipient=recipient, measure=gift.measure, amount=-gift.change, day=day, act=gift.act
    )
