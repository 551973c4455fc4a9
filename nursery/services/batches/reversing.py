"""Taking an act back: each of its movements gets its counter-movement, and both stay visible."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Count, PlantMovement
from nursery.services.batches.countering import counter_act
from nursery.services.batches.withdrawing import later_count, set_aside
from nursery.services.work.following import note_batch


def reverse_act(session: Session, actor: str, *, act: str, reason: str, today: dt.date) -> list[PlantMovement]:
    """Take every movement of an act back together, or refuse and change nothing.

    Trays, container and stage that the act had changed come back too where nobody changed them since; a count
    that made the act is withdrawn with it; a batch that the act had made is put aside once it is empty.

    Raises
    ------
    Invalid
        Without a reason, or at ``plants`` where plants that came by the act have left since.
    Conflict
        For what is taken back already, and for a count after which the batch was counted again.
    NotFound
        Where there is no such act.
    """
    if not reason.strip():
        raise Invalid({"reason": _("Write down why this is taken back.")})
    counts = session.scalars(select(Count).where(Count.act == act, Count.withdrawn_at.is_(None))).all()
    for count in counts:
        _refuse_counted_again(session, count)
    done = counter_act(session, actor, act=act, reason=reason.strip(), today=today)
    for count in counts:
        set_aside(session, actor, count, reason.strip())
    for batch in {moved.batch_id: moved.batch for moved in done}.values():
        note_batch(session, actor, batch=batch, today=today)
    return done


def _refuse_counted_again(session: Session, count: Count) -> None:
    """Plants that a later count found are there, whatever an earlier one said."""
    later = later_count(session, count)
    if later is None:
        return
    raise Conflict(
        _(
            "%(batch)s was counted again on %(day)s, and that count says how many plants there are. Withdraw this"
            " one in the list of counts: the plants stay.",
            batch=count.batch.code,
            day=format_date(later.counted_on),
        )
    )
