"""One pass through the objectives of levelling, each held while the next is searched."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from nursery.planning.arrays import Floats
from nursery.planning.space.levelling_model import Model
from nursery.planning.space.occupancy import DUST

PRIORITIES = (1, 2, 3, 4, 5)
#: How far a level may slip while later ones are searched, in parts of its largest cost: the solver's precision.
SLIP = 1e-6
#: Up to so many options the best answer is searched for to the end; beyond, to within `NEAR_ENOUGH` of the best of
#: each objective, since proving the last hundredth takes far longer than finding it.
FEW = 2_000
NEAR_ENOUGH = 0.01
#: What one objective may take of the time that is left; and seconds for each of those that come last: where many
#: lines are alike, no search ends that would prove how few of them could be touched.
LEVEL_SHARE, LAST_SECONDS = 0.6, 3.0
#: What the solver answers where no solution keeps all rows.
_INFEASIBLE = 2


class Search:
    """``solution`` is the best found so far; ``gap`` and ``is_proved`` are of overflow, losses and shift."""

    def __init__(self, model: Model, ends: float, clock: Callable[[], float]) -> None:
        self.model, self.ends, self.clock = model, ends, clock
        self.matrix, self.low, self.high = model.rows()
        self.upper, self.whole = model.upper(), model.whole()
        self.asked = self.gap = NEAR_ENOUGH
        self.solution: Floats | None = None
        self.is_proved = True
        self.steps = [self._run_sharply, self._refine] if len(model.looked_at) <= FEW else [self._refine]
        self.begun = False

    def step(self) -> bool:
        """Search nearly, then to the end, then for the lesser objectives; whether that was the last step.

        After each step other weeks may overflow, and then a new search is the better use of time.
        """
        if not self.begun:
            self.begun = True
            self._run()
            return False
        self.steps.pop(0)()
        return not self.steps

    def _run_sharply(self) -> None:
        """Once more, from the beginning and to the end; the near answer stays where time runs out."""
        near, self.asked, self.gap, self.is_proved = self.solution, 0.0, 0.0, True
        self.matrix, self.low, self.high = self.model.rows()
        self.upper = self.model.upper()
        self.solution = None
        self._run()
        if self.solution is None:
            self.solution = near

    def _run(self) -> None:
        """Least overflow, losses and shift; straight to the shift where nothing need be lost or be too little."""
        model, shift = self.model, self.model.cost_of_shifting()
        upper = self.upper.copy()
        upper[np.concatenate([model.column["s"], model.column["d"]])] = 0.0
        found = self._solve(shift, upper)
        if found is not None:
            self.upper, self.solution = upper, found
            self._hold(shift, found)
            return
        levels = [*(model.cost_of_dropping(priority) for priority in PRIORITIES), shift]
        if self._fits_without_losses():
            self.upper[model.column["s"]] = 0.0
        else:
            levels = [model.cost_of_overflow(), *levels]
        for cost in levels:
            if not cost.any():
                continue
            found = self._solve(cost, self.upper)
            self.is_proved = self.is_proved and found is not None
            if found is not None:
                self.solution = found
            if self.solution is not None:
                self._hold(cost, self.solution)

    def _refine(self) -> None:
        """Fewest things touched, then fewest trays moved, as far as a few seconds find them."""
        if self.solution is None:
            return
        for cost in (self.model.cost_of_touching(), self.model.cost_of_moving()):
            if not cost.any():
                continue
            found = self._milp(cost, self.upper, LAST_SECONDS).x
            if found is not None and cost @ found <= cost @ self.solution + SLIP:
                self.solution = np.asarray(found)
            self._hold(cost, self.solution)

    def _hold(self, cost: Floats, solution: Floats) -> None:
        from scipy.sparse import csr_array, vstack  # noqa: PLC0415 -- slow import

        # In parts of the largest cost, so that the row is as precise as all others.
        scale = float(np.abs(cost).max(initial=0.0)) or 1.0
        self.matrix = csr_array(vstack([self.matrix, csr_array((cost / scale)[None, :])]))
        self.low = np.append(self.low, -np.inf)
        self.high = np.append(self.high, float(cost @ solution) / scale + SLIP)

    def _fits_without_losses(self) -> bool:
        """Whether leaving out all that may be left out makes room: then no overflow need be searched for."""
        model = self.model
        stays = model.is_home & (model.things.priority[model.thing] == 0)
        load = np.asarray(model.load[model.looked_at[stays]].sum(axis=0)).ravel()
        room = model.areas.room[model.area] - model.areas.standing[model.area, model.week]
        return bool(np.all(load <= room + DUST))

    def _solve(self, cost: Floats, upper: Floats) -> Floats | None:
        left = self.ends - self.clock()
        if left <= 0:
            self.is_proved = False
            return None
        found = self._milp(cost, upper, left * LEVEL_SHARE)
        if found.status not in {0, _INFEASIBLE}:
            self.is_proved = False
            self.gap = max(self.gap, 1.0 if found.x is None else float(found.mip_gap))
        return None if found.x is None else np.asarray(found.x)

    def _milp(self, cost: Floats, upper: Floats, seconds: float) -> Any:
        from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 -- slow import

        return milp(
            cost,
            constraints=LinearConstraint(self.matrix, self.low, self.high),
            bounds=Bounds(np.zeros(len(upper)), upper),
            integrality=self.whole,
            options={"time_limit": seconds, "mip_rel_gap": self.asked},
        )
