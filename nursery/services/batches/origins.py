"""Which lots a batch's plants come from, through any chain of splits and mergers of batches."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Lot, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.planning.mixing import origin_shares

_JOINS = (PlantMovementKind.SPLIT, PlantMovementKind.MERGED)
#: Ids in one query.
_AT_ONCE = 5_000


def batch_lots(session: Session, batch_ids: Iterable[int]) -> dict[int, dict[int, float]]:
    """Share (sum 1) of each lot in each batch, by ids; a fixed number of queries whatever the chains.

    A batch of one lot tells it itself; one merged from several has the shares of the plants that came together.
    What is counted up or lost later leaves the shares as they were.
    """
    wanted = sorted(set(batch_ids))
    edges: list[tuple[int, int, int]] = []
    reached = set(wanted)
    for some in _parts(wanted):
        edges += _inflows(session, some)
    reached |= {parent for _child, parent, _change in edges}
    own: dict[int, int] = {}
    for some in _parts(sorted(reached)):
        rows = session.execute(select(Batch.id, Batch.lot_id).where(Batch.id.in_(some), Batch.lot_id.is_not(None)))
        own |= {batch_id: lot_id for batch_id, lot_id in rows if lot_id is not None}
    # Edges above a batch that knows its lot say nothing more.
    kept: dict[int, list[tuple[int, int, int]]] = {}
    for edge in edges:
        if edge[0] not in own:
            kept.setdefault(edge[0], []).append(edge)
    found = {}
    for batch_id in wanted:
        if batch_id in own:
            found[batch_id] = {own[batch_id]: 1.0}
            continue
        found[batch_id] = _shares(batch_id, kept, own)
    return found


def _shares(
    batch_id: int, edges: Mapping[int, Sequence[tuple[int, int, int]]], own: Mapping[int, int]
) -> dict[int, float]:
    above: list[tuple[int, int, int]] = []
    seen, ahead = {batch_id}, [batch_id]
    while ahead:
        for edge in edges.get(ahead.pop(), ()):
            above.append(edge)
            if edge[1] not in seen:
                seen.add(edge[1])
                ahead.append(edge[1])
    lots: dict[int, float] = {}
    for origin, share in origin_shares(above, batch_id).items():
        if origin in own:
            lots[own[origin]] = lots.get(own[origin], 0.0) + share
    return lots


def lots_of(session: Session, batches: Sequence[Batch]) -> dict[int, list[tuple[Lot, float]]]:
    """The same with the lots themselves, the largest share first."""
    shares = batch_lots(session, [batch.id for batch in batches])
    ids = {lot_id for found in shares.values() for lot_id in found}
    lots = {lot.id: lot for lot in session.scalars(select(Lot).where(Lot.id.in_(ids)))}
    return {
        batch_id: sorted(
            ((lots[lot_id], share) for lot_id, share in found.items()), key=lambda one: (-one[1], one[0].id)
        )
        for batch_id, found in shares.items()
    }


def _inflows(session: Session, batch_ids: Sequence[int]) -> list[tuple[int, int, int]]:
    up = (
        select(PlantMovement.batch_id, PlantMovement.other_batch_id)
        .where(PlantMovement.batch_id.in_(batch_ids), *_inflow())
        .cte("sources", recursive=True)
    )
    up = up.union(
        select(PlantMovement.batch_id, PlantMovement.other_batch_id)
        .join(up, PlantMovement.batch_id == up.c.other_batch_id)
        .where(*_inflow())
    )
    rows = session.execute(
        select(PlantMovement.batch_id, PlantMovement.other_batch_id, PlantMovement.change).where(
            PlantMovement.batch_id.in_(select(up.c.batch_id)), *_inflow()
        )
    )
    return [(child, parent, change) for child, parent, change in rows if parent is not None]


def _inflow() -> tuple[ColumnElement[bool], ...]:
    # Shares are those of the act itself, as in the seed ledger: what is taken back leaves in the same shares.
    return (PlantMovement.kind.in_(_JOINS), PlantMovement.change > 0)


def _parts(ids: Sequence[int]) -> Iterator[Sequence[int]]:
    for at in range(0, len(ids), _AT_ONCE):
        yield ids[at : at + _AT_ONCE]
