"""Effective mothers and the largest family of many lots at once; of one lot, `services.mothers` tells more."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence

from sqlalchemy import Float, Select, cast, func, select
from sqlalchemy.orm import Session

from nursery.models import Bag, Lot
from nursery.models.movements import Movement, MovementKind
from nursery.planning.heavy import pd
from nursery.planning.mothers import Kind, mother_balance, mother_shares
from nursery.services.ledger.shares import OriginShare, lot_origins

_COLUMNS = ("effective_mothers", "largest_family")


def read_mothers(session: Session, wanted: Select[int]) -> pd.DataFrame:
    """``effective_mothers, largest_family`` by lot id, for lots whose mothers' shares are known.

    In two queries, and three more where lots were made from others. ``wanted`` selects ids of lots.
    """
    weight = cast(Bag.weight_mg, Float)
    total = func.sum(weight)
    own = session.execute(
        select(Bag.lot_id, total * total / func.sum(weight * weight), func.max(weight) / total)
        .where(Bag.lot_id.in_(wanted))
        .group_by(Bag.lot_id)
    )
    found = {lot_id: (effective, largest) for lot_id, effective, largest in own}
    made = session.scalars(
        select(Lot).where(
            Lot.id.in_(wanted),
            Lot.id.in_(
                select(Movement.lot_id).where(
                    Movement.kind.in_((MovementKind.SPLIT, MovementKind.MIXED)), Movement.change > 0
                )
            ),
        )
    ).all()
    found |= _of_made(session, [lot for lot in made if lot.id not in found])
    return pd.DataFrame.from_dict(found, orient="index", columns=list(_COLUMNS), dtype=float)


def _of_made(session: Session, lots: Sequence[Lot]) -> dict[int, tuple[float, float]]:
    if not lots:
        return {}
    origins = lot_origins(session, lots)
    collected = {origin.lot.id for found in origins.values() for origin in found}
    kept: defaultdict[int, list[tuple[str, int]]] = defaultdict(list)
    rows = session.execute(select(Bag.lot_id, Bag.tag, Bag.weight_mg).where(Bag.lot_id.in_(collected)))
    for lot_id, tag, weight_mg in rows:
        kept[lot_id].append((tag, weight_mg))
    return {
        lot.id: _together(origins[lot.id], kept)
        for lot in lots
        if all(kept.get(origin.lot.id) for origin in origins[lot.id])
    }


def _together(
    origins: Sequence[OriginShare], kept: defaultdict[int, list[tuple[str, int]]]
) -> tuple[float, float]:
    # A mother that is tagged alike in two lots of one population is the same plant.
    parts: list[tuple[float, dict[Hashable, float]]] = [
        (
            origin.share,
            {(origin.lot.population_id, tag.casefold()): float(mg) for tag, mg in kept[origin.lot.id]},
        )
        for origin in origins
    ]
    balance = mother_balance(list(mother_shares(parts).values()), Kind.SEED)
    return float(balance.effective_mothers), float(balance.largest_share)
