"""How far a batch has come, and since when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, Count
from nursery.planning.growing.ready_days import is_ahead
from nursery.planning.growing.words import STAGES, Stage
from nursery.services.batches.moving import alter, check_act
from nursery.services.catalogue import effective_entries
from nursery.services.work.following import note_batch


def is_later(stage: Stage, than: Stage) -> bool:
    """Whether one stage comes after another."""
    return STAGES.index(stage) > STAGES.index(than)


def next_stage(stage: Stage) -> Stage:
    """The stage after one; the last stays."""
    return STAGES[min(STAGES.index(stage) + 1, len(STAGES) - 1)]


def began_on(
    session: Session, batch: Batch, stage: Stage, seen_on: dt.date, before: Stage, since: dt.date
) -> dt.date:
    """The day on which a batch that was at ``before`` since a day came to ``stage``, at which it was seen.

    Seedlings are counted as growing once they have settled, weeks after they began to grow on; all other stages
    are told when they begin. So growing began when the phases before it had passed, if that was earlier.
    """
    if stage is not Stage.GROWING:
        return seen_on
    entry = effective_entries(session, [batch.species_id]).get(batch.species_id)
    if entry is None:
        return seen_on
    passed = [
        phase.days for phase in entry.protocol_for(batch.protocol, batch.method).nursery
        if is_ahead(STAGES.index(before), phase.key) and not is_ahead(STAGES.index(stage), phase.key)
    ]  # fmt: skip
    known = [days for days in passed if days is not None]
    if len(known) < len(passed):
        return seen_on
    return min(seen_on, since + dt.timedelta(days=round(sum(known))))


def stage_by_counts(session: Session, batch: Batch, counts: Sequence[Count]) -> tuple[Stage, dt.date]:
    """The stage that these counts show, the oldest first, and since when."""
    stage, since = Stage.SOWN, batch.sown_on
    for count in counts:
        if is_later(count.stage, stage):
            since = began_on(session, batch, count.stage, count.counted_on, stage, since)
            stage = count.stage
    return stage, since


def set_stage(session: Session, actor: str, *, batch: Batch, stage: Stage, on: dt.date, today: dt.date) -> Batch:
    """Write down that a batch came to a stage; plants come up by a count, never by word alone."""
    check_act(batch, happened_on=on, today=today, field="on")
    if stage is not Stage.SOWN and not batch.alive:
        raise Invalid({"stage": _("Nothing of %(batch)s has been counted yet. Count it first.", batch=batch.code)})
    if stage is Stage.SOWN and batch.alive:
        raise Invalid({"stage": _("%(batch)s has plants; it is past sowing.", batch=batch.code)})
    alter(session, actor, batch, {"stage": stage, "stage_on": on})
    note_batch(session, actor, batch=batch, today=today)
    return batch
