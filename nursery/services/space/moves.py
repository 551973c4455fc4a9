"""What a levelling would do to each plan line and batch, and what it costs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nursery.planning.space.levelling import Levelled
from nursery.services.space.items import Item
from nursery.services.space.lines import LineRow
from nursery.services.space.occupancy import Place
from nursery.services.space.problem import Problem


@dataclass(frozen=True)
class Move:
    """One change. ``days`` of planting later (below 0 earlier); ``stands`` tells where trays go, if they move."""

    item: Item
    line: LineRow | None
    is_dropped: bool
    days: int
    sow_on: dt.date | None
    plant_on: dt.date | None
    #: Trays at each place, where some or all leave the one they were to have.
    stands: Sequence[tuple[Place, int]]
    home: Place

    @property
    def is_shift(self) -> bool:
        """Whether the planting day changes, which is what a target can hold."""
        return self.plant_on is not None

    @property
    def is_advice(self) -> bool:
        """Whether something of it can only be done by a person: a loss, or trays that go elsewhere."""
        return self.is_dropped or bool(self.stands)

    @property
    def plant_days(self) -> int:
        """Plants times days of shift, what the search makes small."""
        return abs(self.days) * self.item.plants


def read_moves(problem: Problem, answer: Levelled) -> list[Move]:
    """Moves in order of weight: losses first, then the longest shifts, then trays that move."""
    options, things = problem.options, problem.things
    used = np.flatnonzero(answer.trays > 0)
    at_home = np.bincount(
        options.thing, np.where(options.home, answer.trays, 0), len(things)
    ) == things.trays  # fmt: skip
    changed = np.flatnonzero(answer.dropped | ~at_home)
    by_thing: dict[int, list[int]] = {}
    for option in used.tolist():
        by_thing.setdefault(int(options.thing[option]), []).append(option)
    homes = dict(zip(options.thing[options.home].tolist(), options.place[options.home].tolist(), strict=True))
    found = [_move(problem, answer, thing, by_thing.get(thing, []), homes[thing]) for thing in changed.tolist()]
    return sorted(found, key=lambda move: (not move.is_dropped, -abs(move.days), -move.item.plants))


def _move(problem: Problem, answer: Levelled, thing: int, used: Sequence[int], home: int) -> Move:
    line = int(problem.line[thing])
    places = [(int(problem.options.place[option]), int(answer.trays[option])) for option in used]
    moves = any(place != home for place, _trays in places)
    shift = int(problem.shift[used[0]]) if used else -1
    return Move(
        item=problem.occupancy.items.rows[int(problem.item[thing])],
        line=None if line < 0 else problem.occupancy.lines[line],
        is_dropped=bool(answer.dropped[thing]),
        days=int(problem.options.days[used[0]]) if used else 0,
        sow_on=problem.shifts.sow_on[shift].item() if shift >= 0 else None,
        plant_on=problem.shifts.plant_on[shift].item() if shift >= 0 else None,
        stands=[(problem.places[place], trays) for place, trays in places] if moves else [],
        home=problem.places[home],
    )
