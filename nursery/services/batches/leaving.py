"""What becomes of a batch's trays when plants leave it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch
from nursery.planning.rounding import whole
from nursery.services.batches.moving import alter
from nursery.services.batches.placing import fit_places, take_from
from nursery.services.batches.words import trays_text


def trays_in_proportion(batch: Batch, alive_before: int, alive_after: int) -> int:
    """Trays that the plants left would fill, if all trays were as full as before; whole trays."""
    if alive_before <= 0:
        return batch.trays
    return int(whole(batch.trays * alive_after / alive_before))


def trays_after(batch: Batch, alive_before: int, alive_after: int, gone: int | None) -> int:
    """Trays in which the plants left stand once ``gone`` went; where that is none or unknown, in proportion.

    Plants that would not fit in what is left stand in as many trays as hold them: some were set over into others.
    """
    if not gone:
        return min(max(trays_in_proportion(batch, alive_before, alive_after), 1), batch.trays)
    least = 1
    if batch.cells_per_tray is not None:
        least = int(whole(alive_after / max(batch.cells_per_tray, alive_before / batch.trays)))
    return min(max(batch.trays - gone, least, 1), batch.trays)


def settle_trays(
    session: Session, actor: str, batch: Batch, trays_left: int | None, on: dt.date, act: str,
    benches: Mapping[int, int] | None = None,
) -> None:  # fmt: skip
    """Set the trays that are left, and take those that went from the benches; none are left without plants.

    Trays are taken from the ``benches`` named first, then from where they came last.
    """
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
        gone = batch.trays - trays_left
        alter(session, actor, batch, {"trays": trays_left}, act=act)
        take_from(session, actor, batch, benches or {}, gone, on)
        fit_places(session, actor, batch, on)
