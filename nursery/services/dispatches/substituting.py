"""Another batch in place of a line's, only where the rules of origin let it, and never without a reason."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, Dispatch, DispatchLine
from nursery.models.dispatches import DispatchStatus
from nursery.planning.growing.words import Stage
from nursery.services import records
from nursery.services.batches.words import STAGE_LABELS
from nursery.services.dispatches.holding import hold, note, whole
from nursery.services.dispatches.judging import Judged, judge_batches
from nursery.services.dispatches.planning import refuse_empty, refuse_stopped, refuse_twice
from nursery.services.dispatches.reserving import reserved
from nursery.services.health.quarantine import standing_quarantines

_GROWN = (Stage.GROWING, Stage.HARDENING, Stage.READY)


@dataclass(frozen=True, slots=True)
class Stand:
    """A batch of the same species that might stand in."""

    batch: Batch
    #: Alive, less what planned loads keep.
    free: int
    judged: Judged
    is_shut_off: bool

    @property
    def is_offered(self) -> bool:
        """Whether it may be chosen."""
        return self.judged.allowed and not self.is_shut_off and self.free > 0


def stand_ins(session: Session, line: DispatchLine, *, today: dt.date) -> Sequence[Stand]:
    """Batches of the line's species with plants alive: those offered first, then the others and
    what keeps them out."""
    found = session.scalars(
        select(Batch)
        .where(
            Batch.species_id == line.batch.species_id, Batch.alive > 0, Batch.archived_at.is_(None),
            Batch.id != line.batch_id, Batch.stage.in_(_GROWN),
        )
        .order_by(Batch.code)
        .limit(200)
    ).all()  # fmt: skip
    ids = [batch.id for batch in found]
    kept, shut = reserved(session, ids), standing_quarantines(session, ids)
    judged = judge_batches(session, ids, line.dispatch.site_id, today=today)
    stands = [
        Stand(batch, max(batch.alive - kept.get(batch.id, 0), 0), judged[batch.id], batch.id in shut)
        for batch in found
    ]
    tones = ("ok", "caution", "stop")
    stands.sort(key=lambda one: (not one.is_offered, tones.index(one.judged.tone), -one.free, one.batch.code))
    return stands


def substitute(
    session: Session,
    actor: str,
    *,
    line: DispatchLine,
    batch_id: int,
    reason: str,
    today: dt.date,
) -> DispatchLine:
    """Let another batch of the species stand in for the line's; which one it was asked of stays on record.

    Raises
    ------
    Invalid
        At ``batch_id`` for another species, the line's own batch or one too young to go, or where a rule of origin
        says stop and nobody decided otherwise; at ``reason`` without one.
    Conflict
        For a load that is no longer planned.
    """
    load = hold(session, line.dispatch, DispatchStatus.PLANNED)
    if not reason.strip():
        raise Invalid({"reason": _("Write down why another batch stands in.")})
    batch = records.get(session, Batch, batch_id)
    if batch.species_id != line.batch.species_id:
        raise Invalid(
            {
                "batch_id": _(
                    "%(batch)s is another species. Choose one of %(species)s.",
                    batch=batch.code,
                    species=line.batch.species.scientific_name,
                )
            }
        )
    _refuse_itself(load, line, batch)
    refuse_empty(batch)
    refuse_twice(load, batch, line.target_id, line)
    refuse_stopped(session, batch, load.site, today)
    before = line.batch.code
    with whole(session, load):
        asked_of = line.substitutes_id or line.batch_id
        line.batch_id, line.trays = batch.id, None
        line.substitutes_id = asked_of if asked_of != batch.id else None
        line.reason = reason.strip() if line.substitutes_id else ""
        session.flush()
        session.expire(line, ["batch", "substitutes"])
        note(session, actor, load, "load line", {"batch": [before, batch.code], "reason": [None, reason.strip()]})
    return line


def _refuse_itself(load: Dispatch, line: DispatchLine, batch: Batch) -> None:
    """A batch does not stand in for itself, nor does one that is too young; what was asked for may come back."""
    if batch.id == line.batch_id:
        told = _(
            "%(batch)s is in %(load)s already. Change the number of plants there.",
            batch=batch.code,
            load=load.code,
        )
        raise Invalid({"batch_id": told})
    if batch.stage not in _GROWN and batch.id != line.substitutes_id:
        told = _(
            "%(batch)s is too young to go to a site: its stage is “%(stage)s”. Choose another batch.",
            batch=batch.code,
            stage=STAGE_LABELS[batch.stage],
        )
        raise Invalid({"batch_id": told})
