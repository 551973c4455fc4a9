"""Taking off the stock what sowings used since it was counted."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, Supply, SupplyMovement
from nursery.models.supplies import SupplyKind, SupplyMovementKind
from nursery.planning.space.supplies import FLAT_LITRES
from nursery.planning.work.costs import substrate_litres
from nursery.services.acting import elsewhere
from nursery.services.supplies.stock import DIGITS, last_count, move


def unbooked(session: Session, supply: Supply, *, today: dt.date) -> list[tuple[Batch, float]]:
    """Batches sown since the substrate was last counted for which nothing is booked, with their litres.

    Those of other nurseries are left to who may change their records.
    """
    if supply.kind is not SupplyKind.SUBSTRATE:
        return []
    counted_on = last_count(session, supply)
    if counted_on is None:
        return []
    booked = (
        select(SupplyMovement.batch_id)
        .join(SupplyMovement.supply)
        .where(SupplyMovement.batch_id.is_not(None), Supply.kind == SupplyKind.SUBSTRATE)
    )
    batches = session.scalars(
        select(Batch)
        .where(
            Batch.sown_on > counted_on,
            Batch.sown_on <= today,
            Batch.archived_at.is_(None),
            Batch.id.not_in(booked),
        )
        .options(joinedload(Batch.container))
        .order_by(Batch.sown_on, Batch.id)
    ).all()
    within_reach = [batch for batch in batches if not elsewhere(session, batch)]
    return [(batch, litres) for batch in within_reach if (litres := _litres(batch)) > 0]


def book_sowings(session: Session, actor: str, *, supply: Supply, today: dt.date) -> float:
    """Write down what each of those batches used; litres in all.

    Raises
    ------
    Invalid
        Where nothing is to be booked, and at ``amount`` where more was used than there is.
    """
    waiting = unbooked(session, supply, today=today)
    if not waiting:
        raise Invalid({"supply": _("No sowing since the last count waits to be booked.")})
    for batch, litres in waiting:
        move(
            session, actor, supply=supply, kind=SupplyMovementKind.USED, amount=litres, happened_on=batch.sown_on,
            today=today, reason=_("Sowing %(batch)s", batch=batch.code), batch_id=batch.id,
        )  # fmt: skip
    return round(sum(litres for _batch, litres in waiting), DIGITS)


def _litres(batch: Batch) -> float:
    if batch.cells_per_tray is None:
        return round(batch.trays * FLAT_LITRES, DIGITS)
    if batch.container is None:
        return 0.0
    return round(
        float(substrate_litres(batch.trays * batch.cells_per_tray, batch.container.cell_volume_cm3)), DIGITS
    )
