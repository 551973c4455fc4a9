"""One part of the problem as a mixed-integer model: variables, rows, and objectives by level.

Plants of a pair are variables as shares of their line's need, so that all numbers are near one. A pair in use has
a binary beside it, which the least useful draw and the number of draws hang on.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from nursery.planning.allocation.problem import Problem
from nursery.planning.arrays import Floats, Ints

if TYPE_CHECKING:
    from scipy.sparse import csr_array


@dataclass
class Model:
    """Variables and rows, added to as the objectives are written; ``low ≤ A·x ≤ high``."""

    upper: list[Floats] = field(default_factory=list)
    whole: list[Ints] = field(default_factory=list)
    size: int = 0
    height: int = 0
    _row: list[Ints] = field(default_factory=list)
    _column: list[Ints] = field(default_factory=list)
    _value: list[Floats] = field(default_factory=list)
    _low: list[Floats] = field(default_factory=list)
    _high: list[Floats] = field(default_factory=list)
    _capped: list[tuple[Ints, Floats]] = field(default_factory=list)

    def variables(self, upper: Floats, *, whole: bool = False) -> Ints:
        """New variables from 0 up to ``upper``; their columns."""
        self.upper.append(upper)
        self.whole.append(np.full(len(upper), int(whole), np.int64))
        self.size += len(upper)
        return np.arange(self.size - len(upper), self.size)

    def rows(self, low: Floats | float, high: Floats | float, *terms: tuple[Ints, Ints, Floats | float]) -> None:
        """New rows; each term gives the row (from 0), the column and the value of some entries."""
        count = 1 + max((int(row.max()) for row, _column, _value in terms if len(row)), default=-1)
        for row, column, value in terms:
            self._row.append(row + self.height)
            self._column.append(column)
            self._value.append(np.broadcast_to(np.asarray(value, np.float64), row.shape))
        self._low.append(np.broadcast_to(np.asarray(low, np.float64), (count,)))
        self._high.append(np.broadcast_to(np.asarray(high, np.float64), (count,)))
        self.height += count

    def cap(self, columns: Ints, upper: Floats) -> None:
        """Hold variables below new upper bounds from now on."""
        self._capped.append((columns, upper))

    def highest(self) -> Floats:
        """Upper bounds of all variables."""
        highest = np.concatenate(self.upper)
        for columns, upper in self._capped:
            highest[columns] = np.minimum(highest[columns], upper)
        return highest

    def matrix(self) -> tuple[csr_array, Floats, Floats]:
        """The rows as a sparse matrix with their bounds."""
        from scipy.sparse import csr_array  # noqa: PLC0415 -- slow import

        entries = (np.concatenate(self._row), np.concatenate(self._column))
        matrix = csr_array((np.concatenate(self._value), entries), shape=(self.height, self.size))
        return matrix, np.concatenate(self._low), np.concatenate(self._high)


@dataclass(frozen=True)
class Written:
    """A part written as a model; ``plants`` and ``used`` are the columns of its pairs.

    ``least``: the least draw of each pair as a share of its line's need.
    """

    model: Model
    problem: Problem
    plants: Ints
    used: Ints
    least: Floats

    @property
    def need(self) -> Floats:
        """Need of each pair's line: what one unit of its variable is in plants."""
        return self.problem.needs.plants[self.problem.pairs.line]

    def cost(self, columns: Ints, value: Floats | float) -> Floats:
        """An objective over some columns."""
        vector = np.zeros(self.model.size)
        vector[columns] = value
        return vector


def write(problem: Problem) -> Written:
    """The hard rows: needs, balances, the least useful draw, and what is fixed.

    A pair that cannot give its least is left unused, unless a person pinned it.
    """
    pairs, model = problem.pairs, Model()
    need = problem.needs.plants[pairs.line]
    most = problem.most() / need
    # Less than a plant is no draw, or what a level may slip by would be drawn.
    pinned = np.minimum(np.minimum(pairs.pinned, 1.0) / need, most)
    least = np.where(pairs.pinned > 0, pinned, np.minimum(np.maximum(pairs.least, 1.0) / need, 1.0))
    least = np.where(pairs.fixed, most, least)
    usable = (most >= least - 1e-12) & (most > 0)
    plants = model.variables(np.where(usable, most, 0.0))
    used = model.variables(usable.astype(np.float64), whole=True)
    every = np.arange(len(pairs))
    seeds = problem.holdings.seeds[pairs.lot]
    takes = np.divide(need, pairs.plants_per_seed * seeds, out=np.zeros(len(pairs)), where=usable)
    model.rows(-np.inf, 1.0, (pairs.lot, plants, takes))
    model.rows(-np.inf, 1.0, (pairs.line, plants, 1.0))
    model.rows(-np.inf, 0.0, (every, plants, 1.0), (every, used, -np.where(usable, most, 0.0)))
    model.rows(-np.inf, 0.0, (every, plants, -1.0), (every, used, np.minimum(least, most)))
    there = np.flatnonzero(pairs.fixed & usable)
    if there.size:
        model.rows(1.0, np.inf, (np.arange(there.size), used[there], 1.0))
    return Written(model, problem, plants, used, np.minimum(least, most))
