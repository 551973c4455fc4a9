"""Materials by week: what filling trays takes, how stocks fall, and when to order how many packs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Dates, Floats, Ints
from nursery.planning.space.footprint import FLAT_M2

#: Substrate in a flat, 5 cm deep; common practice, no source.
FLAT_LITRES = FLAT_M2 * 0.05 * 1000
#: How many weeks after its arrival an order reaches: a quarter of a year. Common practice, no source.
COVER_WEEKS = 13
_EPS = 1e-9


@dataclass(frozen=True)
class Orders:
    """Deliveries, one row each: of which supply, in which week it must have come, and packs."""

    supply: Ints
    week: Ints
    packs: Ints


def by_week(day: Dates, amounts: Floats, row: Ints, rows: int, first: np.datetime64, weeks: int) -> Floats:
    """Amounts added up by row and week; what was due before the first week counts in it."""
    week = np.maximum((day - first).astype(np.int64) // 7, 0)
    found = np.zeros((rows, weeks))
    inside = (week < weeks) & ~np.isnat(day)
    np.add.at(found, (row[inside], week[inside]), amounts[inside])
    return found


def plan_orders(level: Floats, safety: Floats, pack: Floats, cover: int = COVER_WEEKS) -> tuple[Orders, Floats]:
    """Orders that keep every supply at its safety stock or above.

    Parameters
    ----------
    level : ndarray, shape (supplies, weeks)
        Stock at the end of each week if nothing is ordered; it may fall below 0, and rise where trays come back.
    safety, pack : ndarray, shape (supplies,)
        Stock never to fall below, and units in a pack.
    cover : int
        Weeks that an order reaches.

    Returns
    -------
    Orders
        A delivery in the first week in which stock would be too low, of as many whole packs as the weeks from
        there on need.
    ndarray
        Stock with the orders.
    """
    stock = level.astype(np.float64).copy()
    found: list[tuple[Ints, Ints, Ints]] = []
    for week in range(stock.shape[1]):
        short = np.flatnonzero(stock[:, week] < safety - _EPS)
        if not short.size:
            continue
        lowest = stock[short, week : week + cover].min(axis=1)
        packs = np.ceil((safety[short] - lowest) / pack[short] - _EPS).astype(np.int64)
        stock[short, week:] += (packs * pack[short])[:, None]
        found.append((short, np.full(len(short), week), packs))
    if not found:
        empty = np.zeros(0, np.int64)
        return Orders(empty, empty, empty), stock
    supply, weeks, packs = (np.concatenate(column).astype(np.int64) for column in zip(*found, strict=True))
    return Orders(supply, weeks, packs), stock
