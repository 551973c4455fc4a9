"""Objectives in their order: each is made as good as it can be and held there while the next one is."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from nursery.planning.allocation.model import Written, write
from nursery.planning.allocation.problem import Problem
from nursery.planning.allocation.tightening import tighten
from nursery.planning.allocation.wishes import MotherWishes, share_wishes
from nursery.planning.arrays import Floats, Ints

#: How far the first objective that is held may slip, in parts of the sum it runs over: the solver's own precision.
#: Each later one may slip twice as far, up to `MOST_SLIP`: it profits from what those before it let go, and an
#: answer that takes no such profit must still be good enough.
SLIP = 2e-6
MOST_SLIP = 1e-3
#: Rounds of tangents for effective mothers.
CUTS = 12
#: Linear answers tried for one that can be rounded.
ROUNDINGS = 3
#: Branches of the last search. Proving that no draw could be saved may take for ever where many lots are alike; so
#: much is tried, however fast the machine, and the gap that is left is told.
BRANCHES = 500
#: What is as good as nothing, for variables near one: below the solver's own tolerance.
DUST = 1e-7
#: By how much rows are eased where the solver finds no answer at all beside one that it gave itself.
EASE = 1e-5
#: What the solver answers where no solution keeps all rows.
INFEASIBLE = 2
#: How closely a whole answer keeps its rows.
NEAR = 2e-6


@dataclass
class Budget:
    """Time: ``ends`` by the clock given, and what the solver itself has used of it."""

    ends: float
    clock: Callable[[], float] = time.perf_counter
    in_solver: float = 0.0

    @property
    def left(self) -> float:
        """Seconds to go."""
        return self.ends - self.clock()


@dataclass
class Solver:
    """One part on its way through the levels; ``solution`` is the best found so far and keeps all rows."""

    written: Written
    budget: Budget
    gap_asked: float
    solution: Floats = field(init=False)
    mothers: MotherWishes | None = None
    #: How far the next objective may slip.
    slip: float = SLIP
    #: Largest relative gap that a time limit left open at any level; infinite where nothing was found.
    gap: float = 0.0

    def __post_init__(self) -> None:
        """Begin with nothing drawn but what is fixed, which keeps every hard row."""
        written = self.written
        self.solution = np.zeros(written.model.size)
        there = np.flatnonzero(written.problem.pairs.fixed & (written.least > 0))
        self.solution[written.plants[there]], self.solution[written.used[there]] = written.least[there], 1.0

    def minimise(self, cost: Floats, scale: float, least_slip: float = 0.0) -> float:
        """Make ``cost`` as low as the rows let it be, then hold it there; the value reached.

        A linear bound comes first: where the solution at hand reaches it already, or a rounding of the linear
        answer does, nothing better can be found.
        """
        model = self.written.model
        cost = np.concatenate([cost, np.zeros(model.size - len(cost))])
        slip = max(self.slip * scale, least_slip)
        self.slip = min(2 * self.slip, MOST_SLIP)
        bound, linear = self._bound(cost)
        good = self._complete(cost) and self._value(cost) <= bound + slip
        if not good and not self._round(cost, linear, bound + slip):
            self._search(cost)
        value = self._value(cost)
        if self.budget.left > 0:
            began = self.budget.clock()
            tighten(model, cost, value + slip, slip)
            self.budget.in_solver += self.budget.clock() - began
        self._hold(cost, value + slip)
        return value

    def _hold(self, cost: Floats, limit: float) -> None:
        """Rows that keep ``cost`` under its limit: sparse ones where the best there could be is reached."""
        model, at = self.written.model, np.flatnonzero(cost)
        if np.all(cost >= 0) and np.all(self.solution[at] <= DUST):
            # Each may have an equal part of what all together may slip.
            model.cap(at, np.maximum(limit / (max(at.size, 1) * cost[at]), NEAR))
        elif not self._hold_filled(at, cost):
            model.rows(-np.inf, limit, (np.zeros(at.size, np.int64), at, cost[at]))

    def _hold_filled(self, at: Ints, cost: Floats) -> bool:
        """Whether ``cost`` filled whole lines to the brim, which is then held line by line."""
        written = self.written
        pairs = written.problem.pairs
        if at.size == 0 or at[-1] >= len(pairs) or not np.array_equal(cost[at], -written.need[at]):
            return False
        count = len(written.problem.needs)
        filled = np.bincount(pairs.line, self.solution[written.plants], count)
        lines, row = np.unique(pairs.line[at], return_inverse=True)
        if at.size < np.isin(pairs.line, lines).sum() or np.any(filled[lines] < 1 - self.slip / 4):
            return False
        written.model.rows(1 - self.slip / 2, np.inf, (row.astype(np.int64), at, 1.0))
        return True

    def search(self, cost: Floats) -> None:
        """Make ``cost`` as low as the rows let it be; it is the last, and need not be held."""
        if self.mothers is not None:
            # Tangents are found more cheaply by linear answers than by whole ones.
            self._bound(np.concatenate([cost, np.zeros(self.written.model.size - len(cost))]))
        self._complete(cost)
        self._search(cost, branches=BRANCHES)

    def reaches(self, cost: Floats, limit: float) -> bool:
        """Whether ``cost`` can come down to ``limit``; the solution at hand is then one that does."""
        bound, linear = self._bound(cost)
        if bound > limit:
            return False
        if not self._round(cost, linear, limit):
            self._search(cost)
        return self._value(cost) <= limit

    def _bound(self, cost: Floats) -> tuple[float, Floats | None]:
        """The least that could be reached if draws were not whole, and where."""
        least, found = -np.inf, None
        for _ in range(CUTS):
            found = self._run(cost, whole=False)
            if found is None:
                break
            least = float(cost @ found)
            if self.mothers is None or not self.mothers.cut(found):
                break
        return least, found

    def _round(self, cost: Floats, linear: Floats | None, limit: float) -> bool:
        """Whether whole draws made of a linear answer stay under the limit, which makes them the solution.

        Pairs that draw anything are used; those below their least draw are left out of a second linear answer.
        """
        written = self.written
        out = np.zeros(len(written.plants), np.bool_)
        for _ in range(ROUNDINGS):
            if linear is None:
                return False
            whole = linear.copy()
            drawn = whole[written.plants]
            drawn[drawn <= DUST] = 0.0
            whole[written.plants], whole[written.used] = drawn, drawn > 0
            if self._keeps_rows(whole) and float(cost @ whole) <= limit:
                if self.mothers is not None and self.mothers.cut(whole):
                    return False
                self.solution = whole
                return True
            short = (drawn > 0) & (drawn < written.least - DUST)
            if not short.any():
                return False
            out |= short
            known = np.full(written.model.size, np.nan)
            known[written.plants[out]] = 0.0
            linear = self._run(cost, whole=False, known=known)
        return False

    def _keeps_rows(self, solution: Floats) -> bool:
        matrix, low, high = self.written.model.matrix()
        reached = matrix @ solution
        return bool(
            np.all(reached >= low - DUST)
            and np.all(reached <= high + DUST)
            and np.all(solution <= self.written.model.highest() + DUST)
        )

    def _complete(self, cost: Floats) -> bool:
        """Give the variables that came after the solution the best values beside it; whether there were any."""
        model, pairs = self.written.model, len(self.written.plants)
        if len(self.solution) == model.size:
            return True
        known = np.full(model.size, np.nan)
        known[: 2 * pairs] = self.solution[: 2 * pairs]
        found = self._run(cost, whole=False, known=known)
        self.solution = self.padded() if found is None else found
        return found is not None

    def _search(self, cost: Floats, branches: int | None = None) -> None:
        for _ in range(CUTS):
            found = self._run(cost, whole=True, branches=branches)
            if found is None:
                return
            last = found
            # A tangent allows a little beside the cone; what slipped through is cut off.
            if self.mothers is None or not self.mothers.cut(found):
                break
        self.solution = last

    def _run(
        self, cost: Floats, *, whole: bool, known: Floats | None = None, branches: int | None = None
    ) -> Floats | None:
        from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 -- slow import

        model = self.written.model
        if self.budget.left <= 0:
            self.gap = np.inf
            return None
        matrix, low, high = model.matrix()
        lower, upper = np.zeros(model.size), model.highest()
        if known is not None:
            # Whole answers keep rows and bounds less closely than linear ones do.
            lower = np.where(known > NEAR, known - NEAR, 0.0)
            near = np.where(known > DUST, known + NEAR, 0.0)
            upper = np.where(np.isnan(known), upper, np.minimum(np.maximum(upper, lower), near))
        began = self.budget.clock()
        for presolve, ease in ((True, 0.0), (False, 0.0), (True, EASE)):
            options: Any = {
                "time_limit": max(self.budget.left, 0.01),
                "mip_rel_gap": self.gap_asked,
                "presolve": presolve,
                **({} if branches is None else {"node_limit": branches}),
            }
            found = milp(
                cost,
                constraints=LinearConstraint(matrix, low - ease, high + ease),
                bounds=Bounds(lower, upper),
                integrality=np.concatenate(model.whole) if whole else None,
                options=options,
            )
            # The solution at hand keeps all rows: if nothing seems to, a simplification was too sharp.
            if found.status != INFEASIBLE or known is not None:
                break
        self.budget.in_solver += self.budget.clock() - began
        if whole:
            self.gap = max(
                self.gap, np.inf if found.x is None else 0.0 if found.status == 0 else float(found.mip_gap)
            )
        return None if found.x is None else np.asarray(found.x)

    def padded(self) -> Floats:
        """The solution with zeros for the variables that came after it."""
        return np.concatenate([self.solution, np.zeros(self.written.model.size - len(self.solution))])

    def _value(self, cost: Floats) -> float:
        return float(cost @ self.padded())


def solve_part(problem: Problem, budget: Budget, gap_asked: float) -> tuple[Floats, float]:
    """Plants of each pair, and the gap that is left.

    Levels, from the first to the last: pins, needs by turn, strategy shares, effective mothers, cautions, staying
    with the plan in force, perishable lots, number of draws, distance.
    """
    if len(problem.pairs) == 1:
        return _only_pair(problem), 0.0
    written = write(problem)
    solver = Solver(written, budget, gap_asked)
    _pins(solver)
    _fill(solver)
    wishes = share_wishes(written)
    if wishes is not None:
        solver.minimise(wishes, float(len(problem.needs)))
    _mothers(solver)
    _quietly(solver)
    _fewest_and_nearest(solver)
    plants = solver.solution[written.plants] * written.need
    # Where the least useful draw bears on it, a draw of floating dust is none.
    return _settled(problem, np.where(plants > 1e-6 * written.need, plants, 0.0)), solver.gap


def _settled(problem: Problem, plants: Floats) -> Floats:
    """The answer without moves that are but what levels may slip: there the plan in force stands to the plant."""
    pairs = problem.pairs
    need = problem.needs.plants[pairs.line]
    same = np.where(np.abs(plants - pairs.before) <= MOST_SLIP * need, pairs.before, plants)
    used = pairs.plants_per_seed > 0
    taken = np.divide(same, pairs.plants_per_seed, out=np.zeros(len(same)), where=used)
    within = np.bincount(pairs.lot, taken) <= problem.holdings.seeds * (1 + SLIP)
    filled = np.bincount(pairs.line, same) <= problem.needs.plants * (1 + SLIP)
    fits = within[pairs.lot] & filled[pairs.line]
    return np.where(fits.all(), same, plants)


def _only_pair(problem: Problem) -> Floats:
    pairs = problem.pairs
    most = problem.most()
    worth = most >= np.minimum(np.where(pairs.pinned > 0, 0.0, np.maximum(pairs.least, 1.0)), problem.needs.plants)
    return np.asarray(np.where(worth | pairs.fixed, most, 0.0))


def _pins(solver: Solver) -> None:
    """What a person pinned comes before all else, as far as the lots give it."""
    written = solver.written
    pairs = written.problem.pairs
    at = np.flatnonzero(pairs.pinned > 0)
    if not at.size:
        return
    asked = np.minimum(pairs.pinned[at] / written.need[at], 1.0)
    missing = written.model.variables(asked)
    row = np.arange(at.size)
    written.model.rows(asked, np.inf, (row, written.plants[at], 1.0), (row, missing, 1.0))
    solver.minimise(written.cost(missing, written.need[at]), float(written.need[at].sum()))


def _fill(solver: Solver) -> None:
    """Needs, turn by turn; in one go where all can be met."""
    written = solver.written
    need, turn = written.need, written.problem.needs.turn[written.problem.pairs.line]
    total = float(written.problem.needs.plants.sum())
    turns = np.unique(turn)
    if turns.size > 1 and not solver.reaches(written.cost(written.plants, -need), SLIP * total - total):
        # Not all can be met, so that who goes first matters.
        for now in turns:
            solver.minimise(written.cost(written.plants, np.where(turn == now, -need, 0.0)), total)
        return
    solver.minimise(written.cost(written.plants, -need), total)


def _mothers(solver: Solver) -> None:
    """Effective mothers, as near to those asked for as the better levels let them be."""
    written = solver.written
    wishes = MotherWishes(written)
    if wishes.lines.size:
        solver.mothers = wishes
        solver.minimise(wishes.cost(), float(len(written.problem.needs)), wishes.slip)


def _quietly(solver: Solver) -> None:
    """Fewer plants under a caution, fewer moved from where they are, more of what will not keep."""
    written = solver.written
    pairs, need = written.problem.pairs, written.need
    total = float(written.problem.needs.plants.sum())
    if _differ(pairs.cautions):
        solver.minimise(
            written.cost(written.plants, need * pairs.cautions), total * max(1, int(pairs.cautions.max()))
        )
    at = np.flatnonzero(pairs.before > 0)
    if at.size:
        kept = np.minimum(pairs.before[at] / need[at], 1.0)
        moved = written.model.variables(kept)
        row = np.arange(at.size)
        written.model.rows(kept, np.inf, (row, written.plants[at], 1.0), (row, moved, 1.0))
        solver.minimise(written.cost(moved, need[at]), total)
    if _differ(pairs.perishable):
        solver.minimise(written.cost(written.plants, np.where(pairs.perishable, -need, 0.0)), total)


def _fewest_and_nearest(solver: Solver) -> None:
    """Fewer draws; among equally many the nearest. A draw less outweighs any way."""
    written = solver.written
    pairs, need = written.problem.pairs, written.need
    total, farthest = float(written.problem.needs.plants.sum()), max(float(pairs.distance_m.max()), 1.0)
    cost = written.cost(written.used, 1.0)
    cost[written.plants] = 0.5 * need * pairs.distance_m / (total * farthest)
    solver.search(cost)


def _differ(values: np.ndarray) -> bool:
    return bool(np.any(values != values[0]))
