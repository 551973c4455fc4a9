"""How many plants a batch will have ready: a number, the range that holds with 80 %, and the chance of any number.

A batch stands at ``start`` plants (or sown cells, or seeds) with some of the stage rates still before it. Each
rate is Beta(mean·weight, (1 − mean)·weight), the spread between batches in it, and which plants come through is
chance on top, exactly as in `assurance`; the product of the rates is not replaced by one Beta. A sampled count
leaves ``start`` itself unsure: it is taken as normal with the count's own spread, cut at nothing. Deterministic.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Bools, Floats, Ints, amount, counts, fraction
from nursery.planning.chains import Chain, chain_of
from nursery.planning.heavy import special

#: Points of the table of each batch, and how far it reaches from what is expected, in standard deviations.
POINTS = 65
REACH = 7.0
#: Places, in standard deviations, at which an unsure start is looked at, half a deviation apart.
PLACES = np.linspace(-3.0, 3.0, 13)
WEIGHTS = np.exp(-(PLACES**2) / 2) / np.exp(-(PLACES**2) / 2).sum()
#: Chances looked up at one time.
CHUNK = 40_000
#: Levels at which quantiles are kept so that batches can be added up: 0.5 % apart.
LEVELS = (np.arange(200) + 0.5) / 200
#: Two-sided 95 % of a normal distribution, in standard deviations.
DEVIATIONS_95 = 1.959964


@dataclass(frozen=True)
class Starts:
    """Batches as they stand, one row each.

    ``start``: plants, cells or seeds; ``below`` and ``above``: standard deviation of it to either side, 0 where
    all were counted. ``mean`` and ``weight``, shape (batches, stages): the rates still to come, mean 1 for none.
    ``seeds_per_cell`` as in `chains.chain_of`.
    """

    start: Ints
    below: Floats
    above: Floats
    mean: Floats
    weight: Floats
    seeds_per_cell: Ints


@dataclass(frozen=True)
class Outlook:
    """Distribution of ready plants, one row a batch: chance of at least ``plants``, shape (batches, points)."""

    expected: Floats
    plants: Ints
    chances: Floats

    def chance(self, least: ArrayLike) -> Floats:
        """P(ready ≥ least) of each batch."""
        wanted = np.broadcast_to(np.asarray(least, np.float64), self.expected.shape)
        return np.array(
            [
                np.interp(want, row, chance, left=1.0, right=0.0)
                for want, row, chance in zip(wanted, self.plants, self.chances, strict=True)
            ]
        )

    def quantile(self, level: ArrayLike) -> Ints:
        """Smallest number that is not exceeded with chance ``level``; shape (batches, levels)."""
        wanted = np.atleast_1d(np.asarray(level, np.float64))
        found = np.empty((len(self.expected), wanted.size), np.int64)
        for at, (row, chance) in enumerate(zip(self.plants, self.chances, strict=True)):
            # Chances fall along the row; np.interp wants them to rise.
            edge = np.interp(1 - wanted, chance[::-1], row[::-1].astype(np.float64))
            found[at] = np.ceil(edge - 1e-9) - 1
        return np.maximum(found, 0)

    @property
    def p10(self) -> Ints:
        """Number not reached in one batch of ten."""
        return self.quantile(0.1)[:, 0]

    @property
    def p90(self) -> Ints:
        """Number passed in one batch of ten."""
        return self.quantile(0.9)[:, 0]


def outlook(starts: Starts) -> Outlook:
    """Ready plants of each batch.

    Parameters
    ----------
    starts : Starts

    Returns
    -------
    Outlook
        ``expected`` is exact where the start is sure. Chances within 0.01 of the exact ones.

    Raises
    ------
    ValueError
        For numbers outside their ranges.
    """
    start = counts("start", starts.start)
    below, above = amount("below", starts.below), amount("above", starts.above)
    mean = fraction("mean", starts.mean)
    chain = chain_of(mean.copy(), amount("weight", starts.weight, positive=True).copy(), starts.seeds_per_cell)
    unsure = (below > 0) | (above > 0)
    places = np.where(PLACES < 0, below[:, None], above[:, None]) * PLACES
    at = np.maximum(np.rint(start[:, None] + places), 0).astype(np.int64)
    standing = np.where(unsure, (at * WEIGHTS).sum(1), start)
    expected = standing * chain.mean
    plants = _grid(start, np.maximum(below, above), chain, expected)
    chances = np.empty(plants.shape)
    sure = np.flatnonzero(~unsure)
    chances[sure] = _chances(chain, sure, start[sure, None], plants[sure])
    fixed = unsure & (chain.varying == 0) & (chain.mean == 1)
    for which, method in ((fixed, _of_normal), (unsure & ~fixed, _of_mixture)):
        rows = np.flatnonzero(which)
        if rows.size:
            chances[rows] = method(starts, chain, rows, at[rows], plants[rows])
    return Outlook(expected, plants, np.minimum.accumulate(chances, axis=1))


def _grid(start: Ints, spread: Floats, chain: Chain, expected: Floats) -> Ints:
    """Numbers of plants at which chances are looked up: from where all is sure to where nothing is."""
    rate = np.clip(chain.mean, 0.0, 1.0)
    variance = (start * rate) ** 2 * chain.squared_cv + start * rate * (1 - rate) + (rate * spread) ** 2
    deviation = np.sqrt(variance) + 1e-9
    low = np.floor(np.maximum(expected - REACH * deviation, 0.0))
    high = np.ceil(np.minimum(expected + REACH * deviation, start + np.ceil(3 * spread)))
    high = np.maximum(high, low)
    # Nothing is sure to be reached: one beyond the most has no chance left.
    return np.rint(np.linspace(low, high + 1, POINTS, axis=1)).astype(np.int64)


def _chances(chain: Chain, rows: Ints, start: Ints, plants: Ints) -> Floats:
    """P(ready ≥ plants) for rows × starts × plants, the starts being one for each row or one for each number."""
    shape = plants.shape
    line = np.broadcast_to(rows[:, None], shape).ravel()
    begun, least = np.broadcast_to(start, shape).ravel(), plants.ravel()
    found = np.empty(len(line))
    for first in range(0, len(line), CHUNK):
        part = slice(first, first + CHUNK)
        found[part] = chain.chance(line[part], begun[part], least[part])
    return found.reshape(shape)


def _of_normal(starts: Starts, _chain: Chain, rows: Ints, _at: Ints, plants: Ints) -> Floats:
    """Where every plant standing is ready, only the count is unsure."""
    off = plants - 0.5 - starts.start[rows, None]
    spread = np.where(off < 0, starts.below[rows, None], starts.above[rows, None])
    chance = 1 - special.ndtr(np.divide(off, spread, out=np.sign(off) * 40.0, where=spread > 0))
    return np.where(plants <= 0, 1.0, chance)


def _of_mixture(_starts: Starts, chain: Chain, rows: Ints, at: Ints, plants: Ints) -> Floats:
    total = np.zeros(plants.shape)
    for number, weight in enumerate(WEIGHTS):
        total += weight * _chances(chain, rows, at[:, number, None], plants)
    return total


@dataclass(frozen=True)
class Together:
    """Batches of one group added up, one row a group; ``levels`` has the quantiles at `LEVELS`.

    Batches of a group share their species' rates, and most of what is unknown about each lies in those: they are
    taken to do well or badly together, so that quantiles add up: the cautious bound (see `services.stock`).
    """

    expected: Floats
    levels: Ints

    @property
    def p10(self) -> Ints:
        """Number not reached in one case of ten."""
        return self._between(0.1)

    @property
    def p90(self) -> Ints:
        """Number passed in one case of ten."""
        return self._between(0.9)

    def _between(self, level: float) -> Ints:
        """The number between the two levels next to one."""
        after = round(level * len(LEVELS))
        return (self.levels[:, after - 1] + self.levels[:, after]) // 2

    def at(self, level: ArrayLike) -> Ints:
        """Number reached with chance 1 − ``level``; ``level`` one for all groups or one for each."""
        place = np.broadcast_to(np.asarray(level, np.float64), self.expected.shape)
        # The level at or next below what is asked: never more than holds with the chance.
        position = np.clip(np.floor(place * len(LEVELS) - 0.5 + 1e-9), 0, len(LEVELS) - 1).astype(np.int64)
        return self.levels[np.arange(len(position)), position]

    def chance(self, least: ArrayLike) -> Floats:
        """P(sum ≥ least), to 0.5 %."""
        wanted = np.broadcast_to(np.asarray(least), self.expected.shape)
        reached: Bools = self.levels >= wanted[:, None]
        return np.asarray(reached.mean(axis=1))


def together(found: Outlook, group: Ints, groups: int, sure: ArrayLike = 0) -> Together:
    """Sums of batches by group.

    Parameters
    ----------
    found : Outlook
    group : ndarray of int, shape (batches,)
        Group of each batch, 0 … groups − 1.
    groups : int
    sure : array_like of int, shape (groups,)
        Plants that are there already, such as those dispatched.
    """
    there = np.broadcast_to(counts("sure", sure), (groups,))
    levels = np.zeros((groups, len(LEVELS)), np.int64)
    np.add.at(levels, group, found.quantile(LEVELS))
    return Together(
        np.asarray(np.bincount(group, found.expected, groups) + there, np.float64), levels + there[:, None]
    )
