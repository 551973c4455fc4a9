"""The first movements of lots that have just been written down with an amount."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import insert
from sqlalchemy.orm import Session

from nursery.models import Lot
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.models.types import utc_now
from nursery.services.ledger.moving import BALANCE, held, new_act


def open_balances(
    session: Session,
    actor: str,
    lots: Iterable[Lot],
    *,
    kind: MovementKind = MovementKind.COLLECTED,
    reason: str = "",
    happened_on: dt.date | None = None,
) -> None:
    """Write what new lots hold as their first movements, by one statement; the lots have their ids already.

    ``happened_on`` left out is each lot's day of collecting.
    """
    rows: list[dict[str, Any]] = []
    for lot in lots:
        act = new_act()
        rows += [
            movement_row(
                actor, lot.id, kind, measure, held(lot, measure), happened_on or lot.collected_on, reason, act
            )
            for measure in BALANCE
            if held(lot, measure)
        ]
    if rows:
        session.execute(insert(Movement), rows)


def movement_row(
    actor: str,
    lot_id: int,
    kind: MovementKind,
    measure: Measure,
    change: int,
    happened_on: dt.date,
    reason: str = "",
    act: str = "",
) -> dict[str, Any]:
    """One movement as a row for a statement that inserts many."""
    return {
        "lot_id": lot_id, "kind": kind, "measure": measure, "change": change, "reason": reason, "person": actor,
        "happened_on": happened_on, "at": utc_now(), "act": act or new_act(),
    }  # fmt: skip


def balance_changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[tuple[Measure, int]]:
    """How the balances among some columns of a lot differ, by measure."""
    differences = [
        (measure, (after[column.key] or 0) - (before.get(column.key) or 0))
        for measure, column in BALANCE.items()
        if column.key in after
    ]
    return [(measure, change) for measure, change in differences if change]
