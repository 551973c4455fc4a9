"""The whole allocation, part by part, within a time limit."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from nursery.planning.allocation.parts import connected_parts
from nursery.planning.allocation.problem import Problem
from nursery.planning.allocation.solving import Budget, solve_part
from nursery.planning.arrays import Floats, Ints

#: Relative gap at which a part is taken for solved.
GAP = 1e-4
#: Seconds after which the best found is taken.
SECONDS = 60.0


@dataclass(frozen=True)
class Progress:
    """How far the work is: parts and pairs done, of all."""

    parts: int
    all_parts: int
    pairs: int
    all_pairs: int


@dataclass(frozen=True)
class Allocation:
    """Ready plants of each pair, and how sure it is that there is no better answer.

    ``part``: the connected part of each pair. ``gap``: per part, 0 where it is proved to be the best (to `GAP`),
    else the largest relative gap a level was left with when time ran out; infinite where a level found nothing.
    ``seconds``: the time it took; ``solver_seconds``: the time inside the solver, of all workers together.
    """

    plants: Floats
    part: Ints
    gap: Floats
    seconds: float
    solver_seconds: float


def allocate(
    problem: Problem,
    *,
    seconds: float = SECONDS,
    gap: float = GAP,
    workers: int | None = None,
    report: Callable[[Progress], None] | None = None,
) -> Allocation:
    """Share the lots out among the lines.

    Hard: no lot gives more than it holds, no line gets more than it needs, no draw is smaller than its least. What
    may not meet is no pair. Soft, in this order: pins; needs by turn; strategy shares, populations and caps;
    effective mothers; cautions; staying with the plan in force; perishable lots first; few draws; near ones.

    Parts that share neither line nor lot are solved by themselves, small ones first. Deterministic as long as
    the time limit is not reached; then the best found is given with its gap.

    Parameters
    ----------
    problem : Problem
    seconds : float
    gap : float
        Relative gap at which a level is taken for solved.
    workers : int
        Parts solved at the same time; as many as there are processors where none is given.
    report : callable
        Called after each part.

    Notes
    -----
    Solver: HiGHS by `scipy.optimize.milp`.
    """
    parts = connected_parts(problem)
    began = time.perf_counter()
    order = sorted(range(len(parts)), key=lambda number: (len(parts[number]), number))
    plants = np.zeros(len(problem.pairs))
    part_of = np.zeros(len(problem.pairs), np.int64)
    gaps, in_solver, done = np.zeros(len(parts)), 0.0, 0

    def solve(number: int) -> tuple[Floats, float, float]:
        budget = Budget(began + seconds)
        found, left = solve_part(problem.part(parts[number]), budget, gap)
        return found, left, budget.in_solver

    # The solver lets go of the interpreter, so that threads share its work among the processors.
    with ThreadPoolExecutor(max_workers=workers or os.cpu_count() or 1) as pool:
        for count, (number, answer) in enumerate(zip(order, pool.map(solve, order), strict=True), start=1):
            at = parts[number]
            plants[at], gaps[number], spent = answer
            part_of[at] = number
            in_solver += spent
            done += len(at)
            if report is not None:
                report(Progress(count, len(parts), done, len(plants)))
    return Allocation(plants, part_of, gaps, time.perf_counter() - began, in_solver)
