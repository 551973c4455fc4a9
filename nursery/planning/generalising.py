"""Places told less exactly than they are known, so that a protected stand is not found by its record."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from nursery.planning.distance import distances

#: Degrees to which a sensitive place is rounded: about 11 km from north to south.
COARSE = 0.1


class Told(NamedTuple):
    """A place as it is told: degrees, and how many metres it may be off; None where it is as it was measured."""

    latitude: float
    longitude: float
    metres: int | None


def generalise(latitude: float, longitude: float) -> Told:
    """The place rounded to tenths of a degree.

    Notes
    -----
    ``metres`` is the distance from the rounded place to the farthest corner of its cell, rounded up to hundreds:
    whatever the true place, it lies within.
    """
    north, east = round(round(latitude / COARSE) * COARSE, 1), round(round(longitude / COARSE) * COARSE, 1)
    half = COARSE / 2
    corners = np.clip(np.array([north - half, north + half]), -90, 90)
    farthest = float(distances(north, 0.0, corners, half).max())
    return Told(north, east, int(np.ceil(farthest / 100) * 100))
