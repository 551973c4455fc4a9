"""The one rounding rule for things that cannot be cut: plants, cells, trays, seeds, mothers."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Ints

SLACK = 1e-9
_LIMIT = 2.0**53


def whole(x: ArrayLike) -> Ints:
    """Round up to whole things, forgiving the last digits of floating point.

    Parameters
    ----------
    x : array_like
        Unrounded quantities, any shape.

    Returns
    -------
    ndarray of int64
        ``ceil(x − 1e-9)``, the shape of ``x``.

    Raises
    ------
    ValueError
        Where a quantity is not finite or beyond 2**53, from where floats skip whole numbers.

    Examples
    --------
    >>> whole([2.0, 2.0000000001, 2.1]).tolist()
    [2, 2, 3]
    """
    values = np.asarray(x, dtype=np.float64)
    if not np.all(np.abs(values) <= _LIMIT):
        raise ValueError("a quantity is not finite, or too large to count")
    return np.ceil(values - SLACK).astype(np.int64)
