"""Marks of different kinds at one place, set apart a little so that none hides another."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats

_ROUNDS = 16


def spread(x: ArrayLike, y: ArrayLike, apart: float, farthest: float) -> tuple[Floats, Floats]:
    """Places moved so that they lie ``apart`` from each other, none farther than ``farthest`` from where it was.

    Parameters
    ----------
    x, y
        Shape (n,), in any unit.
    apart, farthest
        In the same unit.

    Returns
    -------
    tuple of ndarray
        New x and y, shape (n,). Places that are far enough apart stay where they are.
    """
    from scipy.spatial import KDTree  # noqa: PLC0415 -- slow import

    start = np.column_stack([np.asarray(x, np.float64), np.asarray(y, np.float64)])
    places = start.copy()
    for _round in range(_ROUNDS if len(start) > 1 else 0):
        pairs = KDTree(places).query_pairs(apart * (1 - 1e-6), output_type="ndarray")
        if not len(pairs):
            break
        first, second = pairs.T
        gap = places[second] - places[first]
        length = np.hypot(*gap.T)
        # Places on the very same spot part from upper left to lower right.
        gap = np.where(length[:, None] > 1e-9, gap, np.array([1.0, 1.0]))
        push = gap / np.hypot(*gap.T)[:, None] * ((apart - length) / 2)[:, None]
        moved = np.zeros_like(places)
        np.add.at(moved, first, -push)
        np.add.at(moved, second, push)
        shift = places + moved - start
        far = np.hypot(*shift.T)
        places = start + shift * np.minimum(1.0, farthest / np.maximum(far, 1e-12))[:, None]
    return places[:, 0], places[:, 1]
