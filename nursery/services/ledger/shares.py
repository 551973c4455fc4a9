"""Where the seed of a lot came from, through any chain of mixes and splits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session, joinedload

from nursery.models import Lot
from nursery.models.movements import Movement, MovementKind
from nursery.planning.mixing import origin_shares

_JOINS = (MovementKind.SPLIT, MovementKind.MIXED)


@dataclass(frozen=True, slots=True)
class OriginShare:
    """A lot that was collected, and its share of another."""

    lot: Lot
    share: float


def lot_shares(session: Session, lot: Lot) -> dict[Lot, float]:
    """Shares (sum 1) of the collected lots in a lot, largest first; itself alone where it was collected."""
    return {origin.lot: origin.share for origin in lot_origins(session, [lot])[lot.id]}


def lot_origins(session: Session, lots: Sequence[Lot]) -> Mapping[int, list[OriginShare]]:
    """The same for several lots, in two queries whatever the length of the chains."""
    wanted = [lot.id for lot in lots]
    up = (
        select(Movement.lot_id, Movement.other_lot_id)
        .where(Movement.lot_id.in_(wanted), *_inflow())
        .cte("ancestors", recursive=True)
    )
    up = up.union(
        select(Movement.lot_id, Movement.other_lot_id)
        .join(up, Movement.lot_id == up.c.other_lot_id)
        .where(*_inflow())
    )
    rows = session.execute(
        select(Movement.lot_id, Movement.other_lot_id, Movement.change).where(
            Movement.lot_id.in_(select(up.c.lot_id)), *_inflow()
        )
    )
    edges = [(child, parent, change) for child, parent, change in rows if parent is not None]
    shares = {lot_id: origin_shares(edges, lot_id) for lot_id in wanted}
    ids = {origin for found in shares.values() for origin in found}
    known = {
        lot.id: lot
        for lot in session.scalars(
            select(Lot).where(Lot.id.in_(ids)).options(joinedload(Lot.population), joinedload(Lot.trip))
        )
    }
    return {
        lot_id: sorted(
            (OriginShare(known[origin], share) for origin, share in found.items()),
            key=lambda one: (-one.share, one.lot.id),
        )
        for lot_id, found in shares.items()
    }


def lot_descendants(session: Session, lot: Lot) -> list[Lot]:
    """Every lot that seed of this one went into by splitting and mixing, oldest first, in one query."""
    down = select(Movement.lot_id).where(Movement.other_lot_id == lot.id, *_inflow()).cte("heirs", recursive=True)
    down = down.union(select(Movement.lot_id).join(down, Movement.other_lot_id == down.c.lot_id).where(*_inflow()))
    return list(session.scalars(select(Lot).where(Lot.id.in_(select(down.c.lot_id))).order_by(Lot.id)))


def _inflow() -> tuple[ColumnElement[bool], ...]:
    # Shares are those of the act itself: what leaves a mixed lot later, or is taken back, leaves in these shares.
    return (Movement.kind.in_(_JOINS), Movement.change > 0)
