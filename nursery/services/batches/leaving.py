"""What becomes of a batch's trays when plants leave it."""

from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch
from nursery.planning.rounding import whole
from nursery.services.batches.moving import alter
from nursery.services.batches.placing import fit_places
from nursery.services.batches.words import trays_text


def trays_in_proportion(batch: Batch, alive_before: int, alive_after: int) -> int:
    """Trays that the plants left would fill, if all trays were as full as before; whole trays."""
    if alive_before <= 0:
        return batch.trays
    return int(whole(batch.trays * alive_after / alive_before))


def settle_trays(
    session: Session, actor: str, batch: Batch, trays_left: int | None, on: dt.date, act: str
) -> None:
    """Set the trays that are left, and take those that went from the benches; none are left without plants."""
    if trays_left is None:
        trays_left = batch.trays if batch.alive else 0
    if not 0 <= trays_left <= batch.trays:
        raise Invalid(
            {
                "trays": _(
                    "%(batch)s had %(trays)s; as many or fewer can be left.",
                    batch=batch.code,
                    trays=trays_text(batch.trays),
                )
            }
        )
    if batch.alive and not trays_left:
        raise Invalid({"trays": _("Plants are left; give the trays in which they stand.")})
    if trays_left != batch.trays:
        alter(session, actor, batch, {"trays": trays_left}, act=act)
        fit_places(session, actor, batch, on)
