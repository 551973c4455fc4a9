"""Stock and survival estimated from a sample."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, Ints, amount, fraction
from nursery.planning.heavy import special
from nursery.planning.rounding import whole


@dataclass(frozen=True)
class Inventory:
    """Plants in all trays with their confidence interval, and the trays a wanted precision takes."""

    total: float
    low: float
    high: float
    samples_needed: int


def students_t(confidence: ArrayLike, n: ArrayLike) -> Floats:
    """Two-sided Student's t of a sample of ``n`` (2 or more) at a confidence above 0 and below 1."""
    level = fraction("confidence", confidence, positive=True)
    if np.any(level >= 1) or np.any(np.asarray(n) < 2):
        raise ValueError("needs a confidence below 1 and a sample of two or more")
    return np.asarray(-special.stdtrit(np.asarray(n) - 1, (1 - level) / 2))


def samples_needed(
    mean: ArrayLike, variance: ArrayLike, n: ArrayLike, *, precision: ArrayLike, confidence: ArrayLike
) -> Floats:
    """Sample size, unrounded, for a wanted relative precision in an endless frame: (t·s ÷ (E·mean))².

    Parameters
    ----------
    mean, variance, n : array_like
        Of a first sample; mean above 0, ``n`` 2 or more.
    precision : array_like
        Half-width wanted, as a fraction of the mean, above 0.
    confidence : array_like
        Two-sided. (A one-sided 90 % is a two-sided 80 %.)

    Notes
    -----
    Cochran's formula as used in vegetation-sampling filings of the Colorado Division of Reclamation, Mining &
    Safety (Cedar Creek Associates for Colowyo).
    """
    half = amount("precision", precision, positive=True) * amount("mean", mean, positive=True)
    return np.asarray(students_t(confidence, n) ** 2 * amount("variance", variance) / half**2)


def in_finite_frame(n: ArrayLike, frame_size: ArrayLike) -> Ints:
    """Sample size corrected for the finite frame, rounded up: n ÷ (1 + n ÷ N). Formula from memory."""
    size = amount("n", n)
    return whole(size / (1 + size / amount("frame_size", frame_size, positive=True)))


def inventory(
    sample_counts: ArrayLike, frame_size: float, precision: float = 0.1, confidence: float = 0.95
) -> Inventory:
    """Estimate the stock from a simple random sample of trays.

    Parameters
    ----------
    sample_counts : array_like, shape (n,)
        Plants in each sampled tray; two trays or more.
    frame_size : float
        Trays in all, at least as many as sampled.
    precision, confidence : float
        Wanted half-width as a fraction of the total, and confidence of both intervals.

    Returns
    -------
    Inventory
        total = N·mean ± t·N·√((1 − n/N)·s² ÷ n), the lower bound not below 0; samples needed with the finite
        population correction, at least 1 and at most N.

    Raises
    ------
    ValueError
        For fewer than two trays, a smaller frame, or precision and confidence out of range.
    """
    trays = amount("sample_counts", sample_counts)
    n = trays.size
    if trays.ndim != 1 or n < 2 or frame_size < n:
        raise ValueError("needs two sampled trays or more, and a frame at least as large")
    mean, variance = float(trays.mean()), float(trays.var(ddof=1))
    total = frame_size * mean
    error = frame_size * np.sqrt((1 - n / frame_size) * variance / n)
    half = float(students_t(confidence, n)) * float(error)
    needed = 0.0
    if mean > 0:
        needed = float(samples_needed(mean, variance, n, precision=precision, confidence=confidence))
    return Inventory(total, max(total - half, 0.0), total + half, max(int(in_finite_frame(needed, frame_size)), 1))
