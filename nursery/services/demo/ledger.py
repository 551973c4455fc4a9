"""The ledgers of the demo's lots: fruit home, seed out of it, a sample to the test."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from random import Random
from typing import Any

from sqlalchemy import insert
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.models import Lot
from nursery.models.lots import Material
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.services.ledger.moving import new_act
from nursery.services.ledger.opening import movement_row, open_balances

#: Days from collecting to clean seed; common practice, no source.
_CLEAN_AFTER = 10
#: Standard deviation of a lot's extraction yield, as a share of the species' own; common practice, no source.
_YIELD_SPREAD = 0.1
#: Seeds of a germination test: four replicates of a hundred (ISTA practice, from memory).
_TESTED = 400
#: No demo lot gives more than this share of itself to a test.
_MOST_TESTED = 0.1


def write_movements(session: Session, actor: str, lots: Sequence[Lot], today: dt.date) -> None:
    """Movements that come to what each lot holds, by two statements."""
    processed = [lot for lot in lots if _is_processed(lot, today)]
    fresh = [lot for lot in lots if lot not in processed]
    open_balances(session, actor, fresh)
    rows = [row for lot in processed for row in _processing(actor, lot)]
    if rows:
        session.execute(insert(Movement), rows)


def _is_processed(lot: Lot, today: dt.date) -> bool:
    weighed = lot.material is Material.SEED and bool(lot.amount_mg)
    return weighed and _clean_on(lot) <= today


def _clean_on(lot: Lot) -> dt.date:
    return lot.collected_on + dt.timedelta(days=_CLEAN_AFTER)


def _processing(actor: str, lot: Lot) -> list[dict[str, Any]]:
    sample, amount = _sample(lot), lot.amount_mg or 0
    usual = load_catalog().species[lot.species.key].seed.extraction_yield
    chance = Random(f"demo fruit {lot.code}")  # noqa: S311 -- spread for an example, no secret
    gave = min(usual * max(chance.gauss(1.0, _YIELD_SPREAD), 0.5), 1.0)
    fruit = round((amount + sample) / gave / 10_000) * 10_000 or amount + sample
    fruit = max(fruit, amount + sample)
    act = new_act()
    rows = [
        movement_row(actor, lot.id, MovementKind.COLLECTED, Measure.FRUIT, fruit, lot.collected_on),
        movement_row(actor, lot.id, MovementKind.EXTRACTED, Measure.FRUIT, -fruit, _clean_on(lot), act=act),
        movement_row(
            actor, lot.id, MovementKind.EXTRACTED, Measure.SEED, amount + sample, _clean_on(lot), act=act
        ),
    ]
    if sample and lot.tested_on:
        rows.append(
            movement_row(
                actor, lot.id, MovementKind.SAMPLED, Measure.SEED, -sample, lot.tested_on, "germination test"
            )
        )
    return rows


def _sample(lot: Lot) -> int:
    """Milligrams of the germination test; a small lot spares itself."""
    if lot.tested_on is None or lot.tsw_g is None:
        return 0
    weight = round(_TESTED * lot.tsw_g)
    return weight if weight <= _MOST_TESTED * (lot.amount_mg or 0) else 0
