"""Array types of the whole package, and the guards at its doors."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Dates = NDArray[np.datetime64]


def fraction(name: str, value: ArrayLike, *, positive: bool = False) -> Floats:
    """Floats, refused with a ValueError unless all lie in 0–1 (above 0 where ``positive``)."""
    array = amount(name, value, positive=positive)
    if np.any(array > 1):
        raise ValueError(f"{name} must be a fraction from 0 to 1, not {array.max()}")
    return array


def amount(name: str, value: ArrayLike, *, positive: bool = False) -> Floats:
    """Floats, refused with a ValueError when any is negative, NaN or (where ``positive``) 0."""
    array = np.asarray(value, dtype=np.float64)
    bad = ~(array > 0) if positive else ~(array >= 0)
    if np.any(bad):
        raise ValueError(f"{name} must be {'above 0' if positive else '0 or more'}, not {array[bad].flat[0]}")
    return array


def counts(name: str, value: ArrayLike, *, least: int = 0) -> Ints:
    """Whole numbers of at least ``least``, else a ValueError; 3.0 passes as 3, 3.5 does not."""
    array = np.asarray(value)
    whole = array.astype(np.int64)
    if np.any(whole != array) or np.any(whole < least):
        raise ValueError(f"{name} must be whole numbers of at least {least}")
    return whole
