"""The ledger of one lot, newest first, with the balance after each movement."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import BigInteger, cast, func, select
from sqlalchemy.orm import Session, aliased

from nursery.models import Lot
from nursery.models.movements import Measure, Movement, MovementKind

#: Rows of the ledger on the page of a lot.
SHOWN = 50


@dataclass(frozen=True, slots=True)
class Entry:
    """A movement and what the lot held of this measure after it."""

    id: int
    act: str
    kind: MovementKind
    measure: Measure
    change: int
    balance: int
    happened_on: dt.date
    at: dt.datetime
    person: str
    reason: str
    other_id: int | None
    other_code: str | None
    #: The movement that took this one back, and the one that this one took back.
    reversed_by: int | None
    reverses: int | None

    @property
    def may_be_reversed(self) -> bool:
        """Whether the act can still be asked to be taken back."""
        return self.reversed_by is None and self.kind is not MovementKind.REVERSAL


def read_ledger(session: Session, lot: Lot, limit: int | None = SHOWN) -> list[Entry]:
    """The newest movements first, in one query whatever their number."""
    other, undo = aliased(Lot), aliased(Movement)
    sums = func.sum(Movement.change).over(partition_by=Movement.measure, order_by=Movement.id)
    balance = cast(sums, BigInteger)  # PostgreSQL sums whole numbers to decimals
    query = (
        select(
            Movement.id, Movement.act, Movement.kind, Movement.measure, Movement.change, balance,
            Movement.happened_on, Movement.at, Movement.person, Movement.reason, Movement.other_lot_id,
            other.code, undo.id, Movement.reverses_id,
        )
        .outerjoin(other, Movement.other_lot_id == other.id)
        .outerjoin(undo, undo.reverses_id == Movement.id)
        .where(Movement.lot_id == lot.id)
        .order_by(Movement.id.desc())
        .limit(limit)
    )  # fmt: skip
    rows: Iterable[Any] = session.execute(query)
    return [Entry(*row) for row in rows]
