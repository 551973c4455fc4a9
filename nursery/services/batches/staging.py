"""How far a batch has come, where that is told without a count."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch
from nursery.planning.growing.words import STAGES, Stage
from nursery.services.batches.moving import alter, check_act
from nursery.services.work.following import note_batch


def is_later(stage: Stage, than: Stage) -> bool:
    """Whether one stage comes after another."""
    return STAGES.index(stage) > STAGES.index(than)


def next_stage(stage: Stage) -> Stage:
    """The stage after one; the last stays."""
    return STAGES[min(STAGES.index(stage) + 1, len(STAGES) - 1)]


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
