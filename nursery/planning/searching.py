"""Whole-number search for many lines at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.heavy import special

_TURNS = 200


def first_reaching(
    value: Callable[[Ints, Ints], Floats], *, target: Floats, low: Ints, limit: Ints, guess: Floats, spread: Floats
) -> Ints:
    """Smallest whole number above ``low`` whose value reaches the target.

    Parameters
    ----------
    value : callable (rows, numbers) -> values
        A chance that never falls when the number rises; rows are positions in the arrays below.
    target : ndarray, shape (lines,)
        Chances to reach, above 0 and below 1.
    low, limit : ndarray of int, shape (lines,)
        A number known to fall short, and the last one to try.
    guess, spread : ndarray, shape (lines,)
        Where to begin, and the relative spread of the distribution: about one probit per log step of this.

    Returns
    -------
    ndarray of int64
        The number, or limit + 1 where none reaches the target.
    """
    brackets = _Brackets(low.astype(np.int64), limit + 1, np.full(len(low), np.nan), np.full(len(low), np.nan))
    trial = np.clip(np.ceil(np.minimum(guess, limit)), low + 1, limit).astype(np.int64)
    for turn in range(_TURNS):
        rows = np.flatnonzero(brackets.high - brackets.low > 1)
        if not rows.size:
            break
        tried = np.clip(trial[rows], brackets.low[rows] + 1, brackets.high[rows] - 1)
        got = value(rows, tried)
        z = special.ndtri(np.clip(got, 1e-12, 1 - 1e-12))
        brackets.close(rows, tried, z, got >= target[rows])
        # Every fourth turn halves the bracket, whatever the curve looks like.
        if turn % 4 == 3:
            trial[rows] = brackets.low[rows] + (brackets.high[rows] - brackets.low[rows]) // 2
        else:
            trial[rows] = brackets.aim(rows, (tried, z), special.ndtri(target[rows]), spread[rows])
    return brackets.high


@dataclass
class _Brackets:
    """``low`` falls short, ``high`` reaches; with the probits seen there (NaN: not looked at)."""

    low: Ints
    high: Ints
    z_low: Floats
    z_high: Floats

    def close(self, rows: Ints, tried: Ints, z: Floats, reached: Bools) -> None:
        self.high[rows[reached]], self.z_high[rows[reached]] = tried[reached], z[reached]
        self.low[rows[~reached]], self.z_low[rows[~reached]] = tried[~reached], z[~reached]

    def aim(self, rows: Ints, last: tuple[Ints, Floats], wanted: Floats, spread: Floats) -> Ints:
        """Where a straight line of probit against log number crosses the target."""
        low, high, z_low, z_high = self.low[rows], self.high[rows], self.z_low[rows], self.z_high[rows]
        log_low, log_high = np.log(np.maximum(low, 0.5)), np.log(np.maximum(high, 0.5))
        both = z_high > z_low  # False with a NaN on either side
        rise = np.where(both, (log_high - log_low) / np.where(both, z_high - z_low, 1.0), spread)
        tried, z = last
        base = np.where(both, log_low, np.log(np.maximum(tried, 0.5)))
        crossing = base + (wanted - np.where(both, z_low, z)) * rise
        aimed = np.ceil(np.exp(np.minimum(crossing, 40.0)))
        return np.clip(aimed, low + 1, high - 1).astype(np.int64)
