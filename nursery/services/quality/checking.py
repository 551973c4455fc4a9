"""A look at some plants of a batch: written down, and withdrawn where it was a mistake."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence

from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, QualityCheck
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.batches.moving import check_act
from nursery.services.quality.words import DEFECT_LABELS, Defect

#: No nursery plant is taller or thicker; more is a slip of the keys. Our own bounds, no source.
TALLEST_CM, THICKEST_MM = 500.0, 200.0


def record_look(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    checked_on: dt.date,
    looked_at: int,
    fair: int,
    today: dt.date,
    heights_cm: Sequence[float] = (),
    collars_mm: Sequence[float] = (),
    defects: Mapping[str, int] | None = None,
    notes: str = "",
) -> QualityCheck:
    """Write down how many of the plants looked at are fair and marketable, and what was measured.

    Raises
    ------
    Invalid
        At ``looked_at`` for none or more than are alive, at ``fair`` for more than were looked at, at
        ``heights_cm`` and ``collars_mm`` for more measures than plants or one that cannot be, at ``defects`` for
        more plants than are not fair.
    """
    check_act(batch, happened_on=checked_on, today=today, field="checked_on")
    refused: dict[str, str] = {}
    if looked_at < 1 or looked_at > max(batch.alive, 1):
        refused["looked_at"] = _("Look at 1 to %(alive)s plants: as many as are alive.", alive=batch.alive)
    if not 0 <= fair <= looked_at:
        refused["fair"] = _("No more can be fair than were looked at.")
    for name, measures, most in (("heights_cm", heights_cm, TALLEST_CM), ("collars_mm", collars_mm, THICKEST_MM)):
        if len(measures) > looked_at:
            refused[name] = _("There are more measures than plants that were looked at.")
        elif any(not math.isfinite(one) or not 0 < one <= most for one in measures):
            refused[name] = _("A measure lies between 0 and %(most)s. Check the list.", most=most)
    seen = {Defect(name).value: int(plants) for name, plants in (defects or {}).items() if plants}
    for name, plants in seen.items():
        if not 0 < plants <= looked_at - fair:
            refused[f"defect-{name}"] = _(
                "%(bad)s of the plants were not fair; no more can have “%(defect)s”.",
                bad=looked_at - fair,
                defect=DEFECT_LABELS[Defect(name)],
            )
    if refused:
        raise Invalid(refused)
    row = QualityCheck(
        batch_id=batch.id, checked_on=checked_on, looked_at=looked_at, fair=fair, person=actor,
        heights_cm=list(heights_cm) or None, collars_mm=list(collars_mm) or None, defects=seen or None,
        notes=notes.strip(),
    )  # fmt: skip
    session.add(row)
    session.flush()
    auditing.record(
        session, actor, action="looked over", row=batch, details={"fair": [None, f"{fair} / {looked_at}"]}
    )
    return row


def withdraw_look(session: Session, actor: str, *, look: QualityCheck, reason: str) -> QualityCheck:
    """A look was written down wrongly: it counts for nothing and stays on record."""
    if not reason.strip():
        raise Invalid({"reason": _("Write down why it is withdrawn.")})
    session.refresh(look, with_for_update={"of": QualityCheck})
    if look.withdrawn_at is not None:
        raise Conflict(_("It was withdrawn already, by %(person)s.", person=look.withdrawn_by))
    look.withdrawn_at, look.withdrawn_by, look.withdrawn_reason = utc_now(), actor, reason.strip()
    session.flush()
    auditing.record(
        session, actor, action="look withdrawn", row=look.batch, details={"reason": [None, reason.strip()]}
    )
    return look
