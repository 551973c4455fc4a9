"""Confidence intervals of counted fractions."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, amount, fraction
from nursery.planning.heavy import special


def wilson_interval(
    successes: ArrayLike, trials: ArrayLike, confidence: ArrayLike = 0.95
) -> tuple[Floats, Floats]:
    """Wilson score interval of a fraction, without continuity correction.

    Parameters
    ----------
    successes, trials : array_like
        Counts; successes from 0 to trials, trials above 0.
    confidence : array_like
        Above 0 and below 1.

    Returns
    -------
    low, high : ndarray
        Fractions 0–1.

    Raises
    ------
    ValueError
        For counts or confidence outside those ranges.

    Notes
    -----
    p̂ = (x + z²/2) ÷ (n + z²), half-width z ÷ (n + z²) · √(x(n − x)/n + z²/4); formula from memory.
    """
    x, n = amount("successes", successes), amount("trials", trials, positive=True)
    level = fraction("confidence", confidence, positive=True)
    if np.any(x > n):
        raise ValueError("successes cannot exceed trials")
    if np.any(level >= 1):
        raise ValueError("confidence must be below 1")
    # From the small tail, which keeps its digits however near to 1 the confidence is.
    z = -special.ndtri((1 - level) / 2)
    centre = (x + z**2 / 2) / (n + z**2)
    half = z / (n + z**2) * np.sqrt(x * (n - x) / n + z**2 / 4)
    low, high = np.maximum(centre - half, 0.0), np.minimum(centre + half, 1.0)
    # At the ends the formula gives 0 and 1 but for rounding.
    return np.where(x == 0, 0.0, low), np.where(x == n, 1.0, high)
