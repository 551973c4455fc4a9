"""Sharing lots among lines: each line asks its lots in order, and no lot gives more than it holds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from nursery.planning.arrays import Floats, Ints

#: A need below this is floating point, not a plant.
TINY = 1e-6


@dataclass(frozen=True)
class Offers:
    """Pairs of line and lot that may serve it, sorted by line and by the order in which the line asks.

    ``ready_per_unit`` and ``seeds_per_unit`` are those of the lot's seed on the line's day of sowing.
    """

    line: Ints
    lot: Ints
    rank: Ints
    ready_per_unit: Floats
    seeds_per_unit: Floats


@dataclass(frozen=True)
class Drawn:
    """Per offer the units and seeds given; per line the units in all and the need that is left."""

    units: Ints
    seeds: Ints
    line_units: Ints
    left: Floats


def draw(need: Floats, per_tray: Ints, spare_units: Ints, turn: Ints, offers: Offers, lot_seeds: Ints) -> Drawn:
    """Draw lots for all lines.

    Lines of an earlier ``turn`` are served whole before later ones; inside a turn all lines ask their first lot,
    then those still in need their second, and so on, and where a lot is asked for more than it holds, the earlier
    line in order goes first.

    Parameters
    ----------
    need : ndarray, shape (lines,)
        Ready plants each line must secure; 0 for a line that draws nothing.
    per_tray, spare_units : ndarray of int, shape (lines,)
        A need that is met is rounded up to whole trays, and spare trays are added, as far as the lot gives.
    turn : ndarray of int, shape (lines,)
    offers : Offers
    lot_seeds : ndarray of int, shape (lots,)
        Seeds each lot holds.

    Returns
    -------
    Drawn
        The seeds given out of a lot never exceed ``lot_seeds``.
    """
    left, held = need.astype(np.float64).copy(), lot_seeds.copy()
    line_units = np.zeros(len(need), np.int64)
    units, seeds = np.zeros(len(offers.line), np.int64), np.zeros(len(offers.line), np.int64)
    usable = (offers.ready_per_unit > 0) & (need[offers.line] > TINY)
    for now in np.unique(turn[offers.line[usable]]):
        in_turn = usable & (turn[offers.line] == now)
        for rank in range(int(offers.rank[in_turn].max()) + 1):
            at = np.flatnonzero(in_turn & (offers.rank == rank) & (left[offers.line] > TINY))
            if not len(at):
                continue
            line, lot = offers.line[at], offers.lot[at]
            each, gives = offers.seeds_per_unit[at], offers.ready_per_unit[at]
            exact = left[line] / gives
            asked = whole_trays(line_units[line] + exact, per_tray[line]) + spare_units[line] - line_units[line]
            wish = np.ceil(asked * each - TINY).astype(np.int64)
            before = pd.Series(wish).groupby(lot).cumsum().to_numpy() - wish
            given = np.minimum(
                asked, np.floor(np.clip(held[lot] - before, 0, wish) / each + TINY).astype(np.int64)
            )
            given = _without_part_trays(given, exact, line_units[line], per_tray[line])
            taken = np.minimum(np.ceil(given * each - TINY).astype(np.int64), np.clip(held[lot] - before, 0, None))
            units[at], seeds[at] = given, taken
            np.subtract.at(held, lot, taken)
            line_units[line] += given
            left[line] = np.where(given >= exact - TINY, 0.0, left[line] - given * gives)
    return Drawn(units, seeds, line_units, left)


def _without_part_trays(given: Ints, exact: Floats, before: Ints, per_tray: Ints) -> Ints:
    """Where a lot ends inside a tray that the need can do without, that tray is left out."""
    whole = (before + given) // per_tray * per_tray - before
    return np.where(whole >= exact - TINY, whole, given)


def whole_trays(units: Floats, per_tray: Ints) -> Ints:
    """Units rounded up to fill whole trays."""
    trays = np.ceil(units / per_tray - TINY).astype(np.int64)
    return np.asarray(trays * per_tray)
