"""Costs of plants: what each carrier of costs bears, in whole cents that always add up to what was spent.

A carrier is anything that bears costs: a batch (or the part of it that went to one site), or a line of the plan
that is not sown yet. A pool is money of one kind that some carriers bear together. All amounts are whole cents, so
that sums by species, batch, site and funder are the same sum, to the cent.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, Ints, amount, fraction
from nursery.planning.heavy import pd


class Part(StrEnum):
    """A kind of cost."""

    LABOUR = "labour"
    SEED = "seed"
    CONTAINERS = "containers"
    SUBSTRATE = "substrate"
    SUPPLIES = "supplies"
    EXPENSES = "expenses"
    OVERHEAD = "overhead"


PARTS = tuple(Part)
#: Seasons that a tray of hard plastic lasts, and how much more substrate is filled than cells hold, since it
#: settles and spills. Working figures: common practice, no source.
TRAY_USES = 5
SETTLING = 1.2


def cents(money: ArrayLike) -> Ints:
    """Whole cents of amounts of money, half to even."""
    return np.rint(np.asarray(money, np.float64) * 100).astype(np.int64)


@dataclass(frozen=True)
class Weights:
    """Who bears which pool: one entry for each pool and carrier that go together, pools in ascending order.

    ``pool`` and ``carrier`` are positions, ``weight`` is not below zero; ``carriers`` is how many there are.
    """

    pool: Ints
    carrier: Ints
    weight: Floats
    carriers: int


def allocate(totals: ArrayLike, weights: Weights) -> Ints:
    """Share whole amounts out by weight, so that the entries of each pool add up to its total.

    Parameters
    ----------
    totals : array_like of int, shape (pools,)
        Whole cents; may be below zero.
    weights : Weights
        Above zero somewhere in each pool.

    Returns
    -------
    ndarray of int64, shape (entries,)
        Within a cent of each exact share; an entry without weight bears nothing.

    Raises
    ------
    ValueError
        Where a pool has no carrier, or a weight is below zero or not finite.
    """
    whole, share = np.asarray(totals, np.int64), amount("weights", weights.weight)
    if not np.all(np.isfinite(share)):
        raise ValueError("a weight of a pool of costs is not finite")
    first = np.searchsorted(weights.pool, np.arange(len(whole)))
    after = np.searchsorted(weights.pool, np.arange(len(whole)), side="right")
    if np.any(first == after) or np.any(np.add.reduceat(share, first) <= 0 if len(whole) else False):
        raise ValueError("a pool of costs has nobody to bear it")
    reached = pd.Series(share).groupby(weights.pool, sort=False).cumsum().to_numpy(np.float64)
    # What all carriers up to each one bear, rounded: the last of them stands at the total itself.
    steps = np.rint(whole[weights.pool] * (reached / reached[after - 1][weights.pool]))
    before = np.concatenate([[0.0], steps[:-1]])
    before[first] = 0.0
    return np.asarray((steps - before).astype(np.int64))


def overhead(costs: ArrayLike, share: float) -> Ints:
    """Overhead of each carrier in cents: a share of its other costs, rounded once for all of them together."""
    reached = np.rint(np.cumsum(np.asarray(costs, np.float64)) * float(fraction("share", share)))
    return np.asarray(np.diff(reached, prepend=0.0).astype(np.int64))


def per_plant(total: ArrayLike, plants: ArrayLike) -> Floats:
    """Cost of one plant in the unit of ``total``; NaN where there is none."""
    number = amount("plants", plants)
    return np.asarray(np.asarray(total, np.float64) / np.where(number > 0, number, np.nan))


def substrate_litres(cells: ArrayLike, cell_volume_cm3: ArrayLike) -> Floats:
    """Litres of substrate that cells take, settling and spilling included; 0 where the volume is not known."""
    volume = np.nan_to_num(np.asarray(cell_volume_cm3, np.float64))
    return amount("cells", cells) * volume / 1000 * SETTLING


@dataclass(frozen=True)
class Borne:
    """What each carrier bears: whole cents and the quantities behind them, shape (carriers, parts)."""

    cents: Ints
    quantities: Floats

    @property
    def total(self) -> int:
        """All carriers, all parts."""
        return int(self.cents.sum())


def bear(
    totals: ArrayLike, quantities: ArrayLike, parts: ArrayLike, weights: Weights, *, overhead_share: float
) -> Borne:
    """Lay pools of costs on their carriers, and overhead on top.

    Parameters
    ----------
    totals : array_like of int, shape (pools,)
        Cents.
    quantities : array_like, shape (pools,)
        Hours, seeds, trays, litres … behind each pool; shared out by the same weights.
    parts : array_like of int, shape (pools,)
        Position of each pool's part in `PARTS`.
    weights : Weights
    overhead_share : float
        0–1, of each carrier's other costs.

    Returns
    -------
    Borne
        The parts but the overhead add up to the totals of the pools, exactly.
    """
    kind = np.asarray(parts, np.int64)
    money = np.zeros((weights.carriers, len(PARTS)), np.int64)
    amounts = np.zeros((weights.carriers, len(PARTS)))
    if len(kind):
        at = (weights.carrier, kind[weights.pool])
        np.add.at(money, at, allocate(totals, weights))
        sums = np.bincount(weights.pool, weights.weight, len(kind))
        np.add.at(amounts, at, (np.asarray(quantities, np.float64) / sums)[weights.pool] * weights.weight)
    money[:, PARTS.index(Part.OVERHEAD)] += overhead(money.sum(axis=1), overhead_share)
    return Borne(money, amounts)
