"""What people are told where something is written of a day before a standing count."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Batch
from nursery.planning.growing.words import Stage
from nursery.services.batches.settling import Settlement, next_count
from nursery.services.batches.words import STAGE_LABELS, plants_text, trays_text


def settled_text(one: Settlement) -> str:
    """What taking an act back will do to a batch that was counted since."""
    stays = _(
        "%(batch)s was counted on %(day)s since, and that count stands: %(alive)s in %(trays)s stay as they are.",
        batch=one.batch.code,
        day=format_date(one.count.counted_on),
        alive=plants_text(one.batch.alive),
        trays=trays_text(one.batch.trays),
    )
    if one.difference < 0:
        then = _(
            "The count will then have found %(plants)s fewer than were known; they are written as lost.",
            plants=plants_text(-one.difference),
        )
    elif one.difference > 0:
        then = _(
            "The count will then have found %(plants)s more than were known; they are written as counted.",
            plants=plants_text(one.difference),
        )
    else:
        then = _("The count will then have found just as many as were known.")
    return f"{stays} {then}"


def young_text(batch: Batch) -> str:
    """What speaks against planting seedlings out; nothing once they are further on."""
    if batch.stage not in {Stage.SOWN, Stage.EMERGED}:
        return ""
    return _(
        "%(batch)s is at the stage “%(stage)s”: seedlings that have not been hardened seldom survive planting. If"
        " they are further on, change the stage first; if not, let them grow.",
        batch=batch.code,
        stage=STAGE_LABELS[batch.stage],
    )


def late_text(session: Session, batch: Batch, day: dt.date) -> str:
    """Why plants alive have not changed by what was written late; empty where no count came in between."""
    count = next_count(session, batch, day)
    if count is None:
        return ""
    return _(
        "%(batch)s was counted on %(day)s, after that: its plants stay as that count found them, and what the"
        " count found missing or too many was put right.",
        batch=batch.code,
        day=format_date(count.counted_on),
    )
