"""Drawing lots for lines as they were shared out, in whole cells and trays; no lot gives more than it holds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Floats, Ints
from nursery.planning.heavy import pd

#: A need below this is floating point, not a plant.
TINY = 1e-6
#: The part of a need, below one plant, that is lost where several lots are drawn in whole units.
ROUNDING = 0.01


@dataclass(frozen=True)
class Offers:
    """Pairs of line and lot that may serve it, sorted by line.

    ``plants``: ready plants shared out to the line from the lot. ``rank``: the order in which the line asks lots
    for what fills its trays, and for what the sharing left over. ``ready_per_unit`` and ``seeds_per_unit`` are
    those of the lot's seed on the line's day of sowing.
    """

    line: Ints
    lot: Ints
    rank: Ints
    plants: Floats
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

    First every line gets what was shared out to it, in whole units. Then its trays are filled, and what is still
    needed is drawn, from seed that nobody has: lines of an earlier ``turn`` whole before later ones; inside a turn
    all lines ask their first lot, then those still in need their second, and so on, and where a lot is asked for
    more than it holds, the earlier line in order goes first.

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
    units, seeds, held = _shared_out(need, turn, offers, lot_seeds)
    count = len(need)
    line_units = np.bincount(offers.line, units, count).astype(np.int64)
    left = need - np.bincount(offers.line, units * offers.ready_per_unit, count)
    left = _worth_drawing(left, need)
    open_lines = need > TINY
    usable = (offers.ready_per_unit > 0) & (need[offers.line] > TINY)
    for now in np.unique(turn[offers.line[usable]]):
        in_turn = usable & (turn[offers.line] == now)
        for rank in range(int(offers.rank[in_turn].max()) + 1):
            at = np.flatnonzero(in_turn & (offers.rank == rank) & open_lines[offers.line])
            # A line that has all it needs fills its trays from the lots it draws already.
            at = at[(left[offers.line[at]] > TINY) | (units[at] > 0)]
            if not len(at):
                continue
            line, lot = offers.line[at], offers.lot[at]
            each, gives = offers.seeds_per_unit[at], offers.ready_per_unit[at]
            exact = left[line] / gives
            asked = whole_trays(line_units[line] + exact, per_tray[line]) + spare_units[line] - line_units[line]
            wish = np.ceil((units[at] + asked) * each - TINY).astype(np.int64) - seeds[at]
            wish = np.maximum(wish, 0)
            before = pd.Series(wish).groupby(lot).cumsum().to_numpy() - wish
            room = np.clip(held[lot] - before, 0, wish)
            given = np.minimum(asked, np.floor((seeds[at] + room) / each + TINY).astype(np.int64) - units[at])
            given = _without_part_trays(np.maximum(given, 0), exact, line_units[line], per_tray[line])
            taken = np.clip(np.ceil((units[at] + given) * each - TINY).astype(np.int64) - seeds[at], 0, room)
            units[at] += given
            seeds[at] += taken
            np.subtract.at(held, lot, taken)
            line_units[line] += given
            open_lines[line] = given < asked
            still = np.where(given >= exact - TINY, 0.0, left[line] - given * gives)
            left[line] = _worth_drawing(still, need[line])
    return Drawn(units, seeds, line_units, left)


def _worth_drawing(left: Floats, need: Floats) -> Floats:
    """What is left of needs, without what whole units of several lots round away."""
    return np.where(left > np.minimum(1.0, ROUNDING * need), left, 0.0)


def _shared_out(need: Floats, turn: Ints, offers: Offers, lot_seeds: Ints) -> tuple[Ints, Ints, Ints]:
    """Units and seeds of each offer as they were shared out, and what each lot holds then."""
    gives, each = offers.ready_per_unit, offers.seeds_per_unit
    some = (offers.plants > TINY) & (gives > 0) & (need[offers.line] > TINY)
    exact = np.divide(offers.plants, gives, out=np.zeros(len(gives)), where=some)
    # Shares are exact to the solver's precision, not to a cell.
    wish = np.where(some, np.ceil(exact - 1e-3 - 1e-5 * exact), 0.0)
    wanted = np.ceil(wish * each - TINY).astype(np.int64)
    # Rounding up may ask a lot for a seed too many; the lines of later turns do without.
    order = np.argsort(turn[offers.line], kind="stable")
    before = np.zeros(len(wanted), np.int64)
    before[order] = pd.Series(wanted[order]).groupby(offers.lot[order]).cumsum().to_numpy() - wanted[order]
    room = np.clip(lot_seeds[offers.lot] - before, 0, wanted)
    units = np.minimum(wish, np.floor(room / each + TINY)).astype(np.int64)
    seeds = np.minimum(np.ceil(units * each - TINY).astype(np.int64), room)
    held = lot_seeds.copy()
    np.subtract.at(held, offers.lot, seeds)
    return units, seeds, held


def _without_part_trays(given: Ints, exact: Floats, before: Ints, per_tray: Ints) -> Ints:
    """Where a lot ends inside a tray that the need can do without, that tray is left out."""
    whole = (before + given) // per_tray * per_tray - before
    return np.where(whole >= exact - TINY, whole, given)


def whole_trays(units: Floats, per_tray: Ints) -> Ints:
    """Units rounded up to fill whole trays."""
    trays = np.ceil(units / per_tray - TINY).astype(np.int64)
    return np.asarray(trays * per_tray)
