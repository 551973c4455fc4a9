"""Letting a count stand no longer."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models import Count
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.batches.countering import counter_act
from nursery.services.batches.moving import alter, whole_act
from nursery.services.batches.settling import standing_counts, written_by
from nursery.services.batches.staging import stage_by_counts
from nursery.services.batches.teaching import forget
from nursery.services.work.following import note_counted


def withdraw_count(session: Session, actor: str, *, count: Count, reason: str, today: dt.date) -> Count:
    """Let a count stand no longer: its movements are countered, what it taught is forgotten, the row stays.

    Where a later count stands, that one says how many plants there are: the ledger stays as it is then.

    Raises
    ------
    Invalid
        Without a reason, or at ``plants`` where plants that it brought have left since.
    Conflict
        When it is withdrawn already.
    """
    reason = reason.strip()
    if not reason:
        raise Invalid({"reason": _("Say why the count should not stand, such as the wrong batch.")})
    if count.withdrawn_at is not None:
        raise Conflict(_("This count has been withdrawn already."))
    batch = count.batch
    with whole_act(session, [batch]):
        counted_again = later_count(session, count) is not None
        if not counted_again and written_by(session, batch, count):
            counter_act(session, actor, act=count.act, reason=reason, today=today)
        set_aside(session, actor, count, reason)
        note_counted(session, actor, count=count, today=today)
    return count


def set_aside(session: Session, actor: str, count: Count, reason: str) -> None:
    """Mark a count as withdrawn and put its batch back to the stage that other counts show."""
    batch = count.batch
    count.withdrawn_at, count.withdrawn_by, count.withdrawn_reason = utc_now(), actor, reason
    forget(session, actor, batch, count, reason)
    auditing.record(session, actor, action="count withdrawn", row=batch, details={"plants": [count.plants, None]})
    left = standing_counts(session, batch)
    shown = batch.stage is count.stage and batch.stage_on <= count.counted_on
    if shown and count.stage not in {other.stage for other in left}:
        stage, day = stage_by_counts(session, batch, left)
        alter(session, actor, batch, {"stage": stage, "stage_on": day})
    session.expire(batch, ["counts"])


def later_count(session: Session, count: Count) -> Count | None:
    """The standing count that came next after one; its number no longer hangs on the earlier."""
    later = [
        other for other in standing_counts(session, count.batch)
        if (other.counted_on, other.id) > (count.counted_on, count.id)
    ]  # fmt: skip
    return later[0] if later else None
