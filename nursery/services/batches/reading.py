"""The ledger of one batch, newest first, with the plants alive after each movement."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import BigInteger, cast, func, select
from sqlalchemy.orm import Session, aliased

from nursery.models import Batch, DispatchLine, PlantMovement, ReturnedPlants, Site
from nursery.models.batches import PlantMovementKind
from nursery.models.dispatches import ReturnDecision
from nursery.planning.growing.words import Cause

#: Rows of the ledger on the page of a batch.
SHOWN = 50


@dataclass(frozen=True, slots=True)
class Entry:
    """A movement and what was alive after it."""

    id: int
    act: str
    kind: PlantMovementKind
    change: int
    alive: int
    cause: Cause | None
    happened_on: dt.date
    at: dt.datetime
    person: str
    reason: str
    other_id: int | None
    other_code: str | None
    site_id: int | None
    site_name: str | None
    #: The movement that took this one back, and the one that this one took back.
    reversed_by: int | None
    reverses: int | None
    #: Trays in which plants left with a load or came back into stock; empty for all else.
    trays: int | None

    @property
    def may_be_reversed(self) -> bool:
        """Whether the act can still be asked to be taken back."""
        return self.reversed_by is None and self.kind is not PlantMovementKind.REVERSAL


def read_ledger(session: Session, batch: Batch, limit: int | None = SHOWN) -> list[Entry]:
    """The newest movements first, in one query whatever their number."""
    other, undo = aliased(Batch), aliased(PlantMovement)
    sums = func.sum(PlantMovement.change).over(order_by=PlantMovement.id)
    left = select(DispatchLine.trays).where(DispatchLine.act == PlantMovement.act)
    back = select(ReturnedPlants.trays).where(
        ReturnedPlants.act == PlantMovement.act, ReturnedPlants.decision == ReturnDecision.BACK_IN_STOCK
    )
    trays = [one.limit(1).correlate(PlantMovement).scalar_subquery() for one in (left, back)]
    alive = cast(sums, BigInteger)  # PostgreSQL sums whole numbers to decimals
    query = (
        select(
            PlantMovement.id, PlantMovement.act, PlantMovement.kind, PlantMovement.change, alive,
            PlantMovement.cause, PlantMovement.happened_on, PlantMovement.at, PlantMovement.person,
            PlantMovement.reason, PlantMovement.other_batch_id, other.code, PlantMovement.site_id, Site.name,
            undo.id, PlantMovement.reverses_id, func.coalesce(*trays),
        )
        .outerjoin(other, PlantMovement.other_batch_id == other.id)
        .outerjoin(Site, PlantMovement.site_id == Site.id)
        .outerjoin(undo, undo.reverses_id == PlantMovement.id)
        .where(PlantMovement.batch_id == batch.id)
        .order_by(PlantMovement.id.desc())
        .limit(limit)
    )  # fmt: skip
    rows: Iterable[Any] = session.execute(query)
    return [Entry(*row) for row in rows]
