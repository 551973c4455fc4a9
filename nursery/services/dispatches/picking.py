"""What is fetched from which bench, in the order in which one walks, and what is loaded when."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.models import Batch, Bench, Dispatch, DispatchLine, Placement
from nursery.planning.rounding import whole


@dataclass(frozen=True, slots=True)
class Pick:
    """Plants of one line on one bench; without a bench nobody knows where they stand."""

    line: DispatchLine
    bench: Bench | None
    trays: int
    plants: int

    @property
    def place(self) -> str:
        """Where to go."""
        return self.bench.name if self.bench is not None else ""


def pick_list(session: Session, load: Dispatch) -> list[Pick]:
    """Bench by bench through each nursery; a batch on several benches is picked from the first ones on the way."""
    stands: dict[int, list[tuple[Bench | None, int]]] = {}
    standing = session.scalars(
        select(Placement)
        .where(Placement.batch_id.in_({line.batch_id for line in load.lines}), Placement.until_on.is_(None))
        .options(joinedload(Placement.bench).joinedload(Bench.nursery))
    ).all()
    batches = {line.batch_id: line.batch for line in load.lines}
    for batch in batches.values():
        places = sorted((one for one in standing if one.batch_id == batch.id), key=lambda one: _way(one.bench))
        stands[batch.id] = _spread(batch, places)
    picks: list[Pick] = []
    for line in load.lines:
        picks += _from_benches(line, stands[line.batch_id])
    return sorted(picks, key=lambda pick: (pick.bench is None, _way(pick.bench), pick.line.position))


def loading_order(load: Dispatch) -> Sequence[DispatchLine]:
    """First on the lorry first; what is planted first is loaded last and stands at the door."""
    return sorted(load.lines, key=lambda line: (line.position, line.id))


def _spread(batch: Batch, places: Sequence[Placement]) -> list[tuple[Bench | None, int]]:
    """Plants of a batch by bench, all trays taken as equally full."""
    found: list[tuple[Bench | None, int]] = []
    done = trays = 0
    for place in places:
        trays += place.trays
        upto = min(round(batch.alive * trays / max(batch.trays, trays)), batch.alive)
        found.append((place.bench, upto - done))
        done = upto
    return found


def _from_benches(line: DispatchLine, stands: list[tuple[Bench | None, int]]) -> list[Pick]:
    left, found = line.plants, []
    full = line.batch.alive / line.batch.trays if line.batch.trays else 0.0
    for number, (bench, there) in enumerate(stands):
        plants = min(left, there)
        if plants:
            found.append(Pick(line, bench, max(int(whole(plants / full)), 1) if full else 0, plants))
            stands[number] = (bench, there - plants)
            left -= plants
    if left:
        found.append(Pick(line, None, int(whole(left / full)) if full else 0, left))
    return found


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
