"""Whether every batch holds what its movements come to, and whether plants moved between batches add up."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models import Batch, PlantMovement
from nursery.services.batches.sums import plant_sums
from nursery.services.batches.words import plants_text


def wrong_plant_balances(session: Session) -> list[str]:
    """A sentence for each batch whose plants are not the sum of its movements, and one where batches together
    hold more or fewer than came, died and left; in a fixed number of queries."""
    total = func.coalesce(func.sum(PlantMovement.change), 0)
    rows = session.execute(
        select(Batch.code, Batch.alive, total)
        .outerjoin(PlantMovement, PlantMovement.batch_id == Batch.id)
        .group_by(Batch.id)
        .having(Batch.alive != total)
        .order_by(Batch.code)
    )
    found = [
        _(
            "Batch %(batch)s holds %(alive)s, but its movements come to %(sum)s.",
            batch=code,
            alive=plants_text(alive),
            sum=plants_text(int(moved)),
        )
        for code, alive, moved in rows
    ]
    joined = sum(sums.joined for sums in plant_sums(session).values())
    if joined:
        found.append(
            _(
                "Splits and mergers should only move plants between batches, but they come to %(plants)s.",
                plants=plants_text(joined),
            )
        )
    return found
