"""What is fetched from which bench, in the order in which one walks, and what is loaded when."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.models import Batch, Bench, Dispatch, DispatchLine, FetchedPlants, Placement
from nursery.services.batches.settling import next_count
from nursery.services.dispatches.sums import has_left
from nursery.services.dispatches.trays import plants_of, trays_by_line


@dataclass(frozen=True, slots=True)
class Pick:
    """Plants of one line on one bench; without a bench nobody knows where they stand."""

    line: DispatchLine
    bench: Bench | None
    #: None for what stands in no trays, and of a load that left before trays were kept.
    trays: int | None
    plants: int

    @property
    def place(self) -> str:
        """Where to go."""
        return self.bench.name if self.bench is not None else ""


def pick_list(session: Session, load: Dispatch) -> list[Pick]:
    """Bench by bench through each nursery; a batch on several benches is picked from the first ones on the way.

    Of a load that has left, the benches that it was fetched from.
    """
    picks = _fetched(load) if has_left(load) else _to_fetch(session, load)
    return sorted(picks, key=lambda pick: (pick.bench is None, _way(pick.bench), pick.line.position))


def _fetched(load: Dispatch) -> list[Pick]:
    trays = trays_by_line(load.lines)
    return [
        pick
        for line in load.lines
        if line.sent
        for pick in [Pick(line, one.bench, one.trays, one.plants) for one in line.fetched]
        or [Pick(line, None, trays[line.id], line.sent)]
    ]


def _to_fetch(session: Session, load: Dispatch) -> list[Pick]:
    standing = session.scalars(
        select(Placement)
        .where(Placement.batch_id.in_({line.batch_id for line in load.lines}), Placement.until_on.is_(None))
        .options(joinedload(Placement.bench).joinedload(Bench.nursery))
    ).all()
    batches = {line.batch_id: line.batch for line in load.lines}
    stands = {
        key: _stands(batch, [one for one in standing if one.batch_id == key]) for key, batch in batches.items()
    }
    trays = trays_by_line(load.lines)
    return [
        pick
        for line in load.lines
        if plants_of(line)
        for pick in _from_benches(line, trays[line.id], stands[line.batch_id])
    ]


def fetched(session: Session, line: DispatchLine, picks: Sequence[Pick], sent_on: dt.date) -> list[FetchedPlants]:
    """What is kept of a line's picks once it has left; no bench where it was counted since that day."""
    if next_count(session, line.batch, sent_on) is not None:
        return [FetchedPlants(plants=plants_of(line), trays=line.trays)]
    return [
        FetchedPlants(bench_id=one.bench.id if one.bench else None, plants=one.plants, trays=one.trays)
        for one in picks
    ]


def loading_order(load: Dispatch) -> Sequence[DispatchLine]:
    """First on the lorry first; what is planted first is loaded last and stands at the door."""
    return sorted(load.lines, key=lambda line: (line.position, line.id))


@dataclass(slots=True)
class _Stand:
    """What of a batch stands on a bench and no line has taken yet."""

    bench: Bench
    plants: int
    trays: int


def _stands(batch: Batch, places: Iterable[Placement]) -> list[_Stand]:
    """Plants of a batch by bench, all trays taken as equally full."""
    on_bench: dict[Bench, int] = defaultdict(int)
    for place in places:
        on_bench[place.bench] += place.trays
    found: list[_Stand] = []
    done = trays = 0
    for bench in sorted(on_bench, key=_way):
        trays += on_bench[bench]
        upto = min(round(batch.alive * trays / max(batch.trays, trays)), batch.alive)
        found.append(_Stand(bench, upto - done, on_bench[bench]))
        done = upto
    return found


def _from_benches(line: DispatchLine, trays: int | None, stands: Sequence[_Stand]) -> list[Pick]:
    left = plants_of(line)
    taken: list[tuple[_Stand | None, int]] = []
    for stand in stands:
        if some := min(left, stand.plants):
            taken.append((stand, some))
            left -= some
    if left:
        taken.append((None, left))
    shares = _shares(trays or 0, taken)
    for (one, plants), many in zip(taken, shares, strict=True):
        if one is not None:
            one.plants, one.trays = one.plants - plants, max(one.trays - many, 0)
    return [
        Pick(line, one.bench if one else None, None if trays is None else many, plants)
        for (one, plants), many in zip(taken, shares, strict=True)
    ]


def _shares(trays: int, taken: Sequence[tuple[_Stand | None, int]]) -> list[int]:
    """Trays from each place: as many as its plants fill, of those that stand there; the rest from the last."""
    whole, plants = sum(some for _stand, some in taken), 0
    shares: list[int] = []
    for stand, some in taken[:-1]:
        plants += some
        share = math.ceil(trays * plants / whole) - sum(shares)
        shares.append(min(share, stand.trays) if stand else share)
    return [*shares, trays - sum(shares)]


def _way(bench: Bench | None) -> tuple[object, ...]:
    """Bench 2 comes before bench 10."""
    if bench is None:
        return ("", ())
    parts = re.split(r"(\d+)", bench.name.casefold())
    return (
        bench.nursery.name.casefold(),
        tuple((1, int(part), "") if part.isdigit() else (0, 0, part) for part in parts if part),
        bench.id,
    )
