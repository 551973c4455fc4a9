"""What a little more seed would be worth, and what a line would gain if some pairs were allowed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from nursery.planning.allocation.parts import labels
from nursery.planning.allocation.problem import Problem
from nursery.planning.arrays import Floats, Ints

#: Linear programs solved for the gains of one kind; beyond them free seed alone is counted, a lower bound.
MOST_TRIALS = 200


@dataclass(frozen=True)
class Trials:
    """A problem, its answer (plants of each pair), and the plants that each line lacks still."""

    problem: Problem
    plants: Floats
    lacking: Floats


def seed_worth(problem: Problem, plants: Floats) -> Floats:
    """Plants that one seed more of each lot would give to lines that still need some.

    The dual values of the balances in the linear program that fills needs with the draws as they may be; 0 where a
    lot has seed left or nobody is short.

    Returns
    -------
    ndarray, shape (lots,)
    """
    from scipy.sparse import coo_array, vstack  # noqa: PLC0415 -- slow import

    pairs, holdings, needs = problem.pairs, problem.holdings, problem.needs
    worth = np.zeros(len(holdings))
    filled = np.bincount(pairs.line, plants, len(needs))
    is_short = filled < needs.plants * (1 - 1e-6)
    label = labels(pairs.line, pairs.lot, len(needs), len(holdings))
    usable = pairs.plants_per_seed > 0
    at = np.flatnonzero(np.isin(label, np.unique(label[is_short[pairs.line]])) & usable)
    if not at.size:
        return worth
    part = problem.part(at)
    size = len(part.pairs)
    column = np.arange(size)
    lots = coo_array((1 / part.pairs.plants_per_seed, (part.pairs.lot, column)), shape=(len(part.holdings), size))
    lines = coo_array((np.ones(size), (part.pairs.line, column)), shape=(len(part.needs), size))
    found = _most(
        np.ones(size), vstack([lots, lines]).tocsr(), np.concatenate([part.holdings.seeds, part.needs.plants])
    )
    if found.status == 0:
        worth[np.unique(pairs.lot[at])] = np.maximum(-found.ineqlin.marginals[: len(part.holdings)], 0.0)
    return worth


def gains(trials: Trials, line: Ints, lot: Ints, plants_per_seed: Floats) -> Floats:
    """Plants each line would gain if some further pairs were allowed to it alone, and no other line lost any.

    Parameters
    ----------
    trials : Trials
    line, lot : ndarray of int, shape (further pairs,)
    plants_per_seed : ndarray, shape (further pairs,)

    Returns
    -------
    ndarray, shape (lines,)
        Never more than the line lacks. Free seed is counted first; where it does not suffice a linear program sees
        whether other lines could make room.
    """
    problem = trials.problem
    used = np.bincount(
        problem.pairs.lot,
        np.divide(trials.plants, problem.pairs.plants_per_seed, out=np.zeros(len(trials.plants)),
                  where=problem.pairs.plants_per_seed > 0),
        len(problem.holdings),
    )  # fmt: skip
    free = np.maximum(problem.holdings.seeds - used, 0.0)
    gained = np.minimum(np.bincount(line, free[lot] * plants_per_seed, len(problem.needs)), trials.lacking)
    wanting = np.unique(line[gained[line] < trials.lacking[line] - 1e-6])
    for number in wanting[:MOST_TRIALS]:
        mine = line == number
        gained[number] = max(gained[number], _trial(trials, int(number), lot[mine], plants_per_seed[mine]))
    return gained


def _trial(trials: Trials, number: int, lot: Ints, plants_per_seed: Floats) -> float:
    """The most that one line can gain with further lots while every other line keeps what it has."""
    from scipy.sparse import coo_array, vstack  # noqa: PLC0415 -- slow import

    problem = trials.problem
    pairs = problem.pairs
    label = labels(
        np.concatenate([pairs.line, np.full(len(lot), number)]), np.concatenate([pairs.lot, lot]),
        len(problem.needs), len(problem.holdings),
    )  # fmt: skip
    at = np.flatnonzero((label[: len(pairs)] == label[-1]) & (pairs.plants_per_seed > 0))
    lines = np.concatenate([pairs.line[at], np.full(len(lot), number)])
    lots = np.concatenate([pairs.lot[at], lot])
    each = np.concatenate([pairs.plants_per_seed[at], plants_per_seed])
    keep = np.flatnonzero(each > 0)
    lines, lots, each = lines[keep], lots[keep], each[keep]
    column = np.arange(len(lines))
    row_of_line, line_row = np.unique(lines, return_inverse=True)
    row_of_lot, lot_row = np.unique(lots, return_inverse=True)
    size = len(lines)
    balances = coo_array((1 / each, (lot_row, column)), shape=(len(row_of_lot), size))
    filled = np.bincount(pairs.line, trials.plants, len(problem.needs))
    totals = coo_array((np.ones(size), (line_row, column)), shape=(len(row_of_line), size))
    others = row_of_line != number
    most = np.where(others, problem.needs.plants[row_of_line], filled[number] + trials.lacking[number])
    least = np.where(others, filled[row_of_line], filled[number])
    found = _most(
        (lines == number).astype(np.float64),
        vstack([balances, totals, -totals]).tocsr(),
        np.concatenate([problem.holdings.seeds[row_of_lot], np.maximum(most, least), -least * (1 - 1e-9)]),
    )
    return max(0.0, float(-found.fun) - float(filled[number])) if found.status == 0 else 0.0


def _most(value: Floats, rows: Any, most: Floats) -> Any:
    """The linear program ``max value·x`` with ``rows·x ≤ most`` and x ≥ 0, duals included."""
    from scipy.optimize import linprog  # noqa: PLC0415 -- slow import

    return linprog(-value, A_ub=rows, b_ub=most, method="highs")
