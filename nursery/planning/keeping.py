"""When seed in store has fallen to a share of what its test found: the forecast of `storage`, turned round."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, fraction
from nursery.planning.heavy import special
from nursery.planning.storage import NEARLY_ALL, NONE, life_viability, viability_after

#: Share of its tested viability under which a lot is tested again, and the longest time between two tests in days:
#: common practice, no source.
RETEST_SHARE, RETEST_DAYS = 0.8, 365


def forecast(tested: ArrayLike, days: ArrayLike, sigma: ArrayLike, life_days: ArrayLike) -> Floats:
    """Viability after days in store: by the viability equation where σ is known, else by the life in store.

    Parameters
    ----------
    tested : array_like
        Fraction viable at the test, 0–1.
    days : array_like
        Days since the test; at 0 or below viability is what it was.
    sigma : array_like
        Days per probit, NaN where the equation's constants, the moisture or the temperature are not known.
    life_days : array_like
        Days after which half of ``tested`` is left, above 0.

    Notes
    -----
    A test that found all seed viable cannot tell it from 99.9 %, which the equation begins with.
    """
    known = np.isfinite(np.asarray(sigma, dtype=np.float64))
    by_equation = viability_after(np.minimum(tested, NEARLY_ALL), days, np.where(known, sigma, 1.0))
    return np.where(known, by_equation, life_viability(tested, days, life_days))


def days_to_share(tested: ArrayLike, share: float, sigma: ArrayLike, life_days: ArrayLike) -> Floats:
    """Days since the test after which ``share`` of the tested viability is left.

    Parameters
    ----------
    tested, sigma, life_days
        As for `forecast`.
    share : float
        Above 0 and below 1.

    Returns
    -------
    ndarray
        Days; 0 for seed of which none lives, infinite for seed that does not age.

    Raises
    ------
    ValueError
        For a share outside 0–1 or at its ends, or a viability outside 0–1.

    Notes
    -----
    From v = Φ(Φ⁻¹(v0) − days ÷ σ): days = σ · (Φ⁻¹(v0) − Φ⁻¹(share · v0)). Where only the life is known,
    σ = life ÷ (Φ⁻¹(v0) − Φ⁻¹(v0 ÷ 2)), as in `storage.life_viability`.
    """
    if not 0 < share < 1:
        raise ValueError("share lies above 0 and below 1")
    start = fraction("tested", tested)
    alive = start > NONE
    v0 = np.where(alive, start, 0.5)
    ki = special.ndtri(np.minimum(v0, NEARLY_ALL))
    known = np.isfinite(np.asarray(sigma, dtype=np.float64))
    # The equation starts from what it takes for all; by life the share is of the test itself.
    left = np.where(known, np.minimum(v0, NEARLY_ALL), v0) * share
    slope = np.where(known, sigma, np.asarray(life_days, dtype=np.float64) / (ki - special.ndtri(v0 / 2)))
    return np.where(alive, slope * (ki - special.ndtri(left)), 0.0)
