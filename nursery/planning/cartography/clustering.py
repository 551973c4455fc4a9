"""Marks that would lie on each other become one."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Ints = NDArray[np.int64]


def clusters(x: ArrayLike, y: ArrayLike, apart: float) -> Ints:
    """The cluster of each mark, so that the middles of clusters lie at least about ``apart`` from each other.

    Parameters
    ----------
    x, y
        Of the marks, shape (n,), in any unit.
    apart
        In the same unit.

    Returns
    -------
    ndarray of int
        Shape (n,); clusters are numbered from 0, the largest first.

    Notes
    -----
    Marks are gathered in squares, and squares whose middles lie too near are joined to the fuller one: the time
    grows with the marks, and only as the square of the squares that hold any.
    """
    left, top = np.asarray(x, np.float64), np.asarray(y, np.float64)
    if not left.size:
        return np.zeros(0, np.int64)
    squares = np.stack([np.floor(left / apart), np.floor(top / apart)], axis=1)
    _squares, square = np.unique(squares, axis=0, return_inverse=True)
    square = square.reshape(-1)
    return _joined(left, top, square, apart)[square]


def _joined(x: NDArray[np.float64], y: NDArray[np.float64], square: NDArray[np.intp], apart: float) -> Ints:
    """The cluster of each square."""
    counts = np.bincount(square)
    middle_x = np.bincount(square, x) / counts
    middle_y = np.bincount(square, y) / counts
    cluster = np.full(len(counts), -1, np.int64)
    chosen: list[int] = []
    # Fullest first; among equals from north to south and west to east, so that a picture is always the same.
    for at in np.lexsort((middle_x, middle_y, -counts)).tolist():
        gap = np.hypot(middle_x[chosen] - middle_x[at], middle_y[chosen] - middle_y[at])
        if len(gap) and gap.min() < apart:
            cluster[at] = int(gap.argmin())
        else:
            cluster[at] = len(chosen)
            chosen.append(at)
    return cluster
