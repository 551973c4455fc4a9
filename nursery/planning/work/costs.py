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


def allocate(totals: ArrayLike, weights: ArrayLike) -> Ints:
    """Share whole amounts out by weight, so that each row adds up to its total.

    Parameters
    ----------
    totals : array_like of int, shape (pools,)
        Whole cents; may be below zero.
    weights : array_like, shape (pools, carriers)
        Not below zero, and above it somewhere in each row.

    Returns
    -------
    ndarray of int64, shape (pools, carriers)
        Within a cent of each exact share; a carrier without weight bears nothing.

    Raises
    ------
    ValueError
        Where a pool has no carrier, or a weight is below zero or not finite.
    """
    whole = np.asarray(totals, np.int64)
    reached = np.cumsum(amount("weights", weights), axis=1)
    if reached.shape[1] == 0 or not np.all((reached[:, -1] > 0) & np.isfinite(reached[:, -1])):
        raise ValueError("a pool of costs has nobody to bear it")
    # What all carriers up to each one bear, rounded: the last of them stands at the total itself.
    steps = np.rint(whole[:, None] * (reached / reached[:, -1:]))
    return np.asarray(np.diff(steps, axis=1, prepend=0.0).astype(np.int64))


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
    totals: ArrayLike, quantities: ArrayLike, parts: ArrayLike, weights: ArrayLike, *, overhead_share: float
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
    weights : array_like, shape (pools, carriers)
    overhead_share : float
        0–1, of each carrier's other costs.

    Returns
    -------
    Borne
        The parts but the overhead add up to the totals of the pools, exactly.
    """
    share = np.asarray(weights, np.float64)
    kind = np.asarray(parts, np.int64)
    carriers = share.shape[1]
    money, amounts = np.zeros((carriers, len(PARTS)), np.int64), np.zeros((carriers, len(PARTS)))
    if len(kind):
        given = allocate(totals, share)
        behind = np.asarray(quantities, np.float64)[:, None] * share / share.sum(axis=1, keepdims=True)
        np.add.at(money.T, kind, given)
        np.add.at(amounts.T, kind, behind)
    money[:, PARTS.index(Part.OVERHEAD)] += overhead(money.sum(axis=1), overhead_share)
    return Borne(money, amounts)
