"""Levelling: where benches overflow, sowings are shifted, trays split or moved, or lines named to be dropped.

Objectives, each held while the next is searched: least overflow left, fewest plants dropped (priority 1 first),
least shift (plants × days), fewest things touched, fewest trays moved. Weeks that are not too full are looked at
only once an answer overfills them, so that most of a large plan never enters the search; the answer is still that
of the whole.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.space.choices import Areas, Options, Things
from nursery.planning.space.levelling_model import Model

PRIORITIES = (1, 2, 3, 4, 5)
#: How far a level may slip while later ones are searched, in parts of its largest cost: the solver's precision.
SLIP = 1e-6
#: Up to so many options the best answer is searched for to the end; beyond, to within `NEAR_ENOUGH` of the best of
#: each objective, since proving the last hundredth takes far longer than finding it.
FEW = 2_000
NEAR_ENOUGH = 0.01
#: What one round, and one objective in it, may take of the time that is left: weeks that an answer overfills need
#: a further round.
ROUND_SHARE = LEVEL_SHARE = 0.6
#: What the solver answers where no solution keeps all rows.
_INFEASIBLE = 2


@dataclass(frozen=True)
class Levelled:
    """The answer: trays by option, things dropped, m² by area and week before and after, and what is too little.

    ``gap``: to within which part of each objective the answer is known to be the best. ``is_proved`` is false
    where time ran out: then the answer fits as told, but a better one may exist.
    """

    trays: Ints
    dropped: Bools
    before: Floats
    after: Floats
    over_before: Floats
    over_after: Floats
    gap: float
    is_proved: bool

    @property
    def is_needed(self) -> bool:
        """Whether anything overflowed at all."""
        return bool((self.over_before > 0).any())


def level(
    things: Things, options: Options, areas: Areas, *, seconds: float = 60.0,
    clock: Callable[[], float] = time.perf_counter,
) -> Levelled:  # fmt: skip
    """Find the answer in at most about so many seconds.

    Raises
    ------
    ValueError
        Where a thing has not exactly one home option.
    """
    homes = np.bincount(options.thing[options.home], minlength=len(things))
    if np.any(homes != 1):
        raise ValueError("every thing has exactly one option that is home")
    trays = np.where(options.home, things.trays[options.thing], 0)
    dropped = np.zeros(len(things), np.bool_)
    before = after = areas.taken(options, _share(things, options, trays))
    over_before = over_after = areas.over(before)
    looked_at = over_before > 0
    is_proved, gap, ends = True, 0.0, clock() + seconds
    while looked_at.any():
        area, week = np.nonzero(looked_at)
        model = Model(things, options, areas, area, week)
        search = _Search(model, clock() + (ends - clock()) * ROUND_SHARE, clock)
        search.run()
        is_proved, gap = is_proved and search.is_proved, max(gap, search.gap)
        if search.solution is not None:
            trays, dropped = model.read(search.solution)
            after = areas.taken(options, _share(things, options, trays))
            over_after = areas.over(after)
        new = (over_after > 0) & ~looked_at
        if not new.any() or search.solution is None:
            break
        looked_at |= new
    return Levelled(trays, dropped, before, after, over_before, over_after, gap, is_proved)


def _share(things: Things, options: Options, trays: Ints) -> Floats:
    return np.asarray(trays / np.maximum(things.trays[options.thing], 1))


class _Search:
    """One pass through the objectives."""

    def __init__(self, model: Model, ends: float, clock: Callable[[], float]) -> None:
        self.model, self.ends, self.clock = model, ends, clock
        self.matrix, self.low, self.high = model.rows()
        self.upper, self.whole = model.upper(), model.whole()
        self.asked = self.gap = 0.0 if len(model.looked_at) <= FEW else NEAR_ENOUGH
        self.solution: Floats | None = None
        self.is_proved = True

    def run(self) -> None:
        """Through all levels, or straight to the shift where nothing need be dropped or left too little."""
        from scipy.sparse import csr_array, vstack  # noqa: PLC0415 -- slow import

        model = self.model
        later = [model.cost_of_shifting(), model.cost_of_touching(), model.cost_of_moving()]
        earlier = [model.cost_of_overflow(), *(model.cost_of_dropping(priority) for priority in PRIORITIES)]
        limits = self.upper.copy()
        limits[np.concatenate([model.column["s"], model.column["d"]])] = 0.0
        found = self._solve(later[0], limits)
        if found is None:
            levels = [*earlier, *later]
        else:
            self.upper, self.solution = limits, found
            levels = later
        for number, cost in enumerate(levels):
            scale = float(np.abs(cost).max(initial=0.0))
            if scale == 0:
                continue
            if number or found is None:
                found_now = self._solve(cost, self.upper)
                if found_now is None:
                    self.is_proved = False
                    continue
                self.solution = found_now
            if self.solution is None:
                continue
            # Held in parts of the largest cost, so that the row is as precise as all others.
            best = float(cost @ self.solution) / scale
            self.matrix = csr_array(vstack([self.matrix, csr_array((cost / scale)[None, :])]))
            self.low = np.append(self.low, -np.inf)
            self.high = np.append(self.high, best + SLIP)

    def _solve(self, cost: Floats, upper: Floats) -> Floats | None:
        from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 -- slow import

        left = self.ends - self.clock()
        if left <= 0:
            self.is_proved = False
            return None
        found = milp(
            cost,
            constraints=LinearConstraint(self.matrix, self.low, self.high),
            bounds=Bounds(np.zeros(len(upper)), upper),
            integrality=self.whole,
            options={"time_limit": left * LEVEL_SHARE, "mip_rel_gap": self.asked},
        )
        if found.status not in {0, _INFEASIBLE}:
            self.is_proved = False
            self.gap = max(self.gap, float(found.mip_gap) if found.x is not None else 1.0)
        return None if found.x is None else np.asarray(found.x)
