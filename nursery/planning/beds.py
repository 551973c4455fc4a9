"""Sowing of open beds.

W = A·D ÷ (S·P·G·F): area × density ÷ (seeds per gram × purity × germination × survival). Formula from memory, as
in bareroot nursery manuals.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, amount, fraction
from nursery.planning.quantities import grams_of_seeds


@dataclass(frozen=True)
class BedSowing:
    """Rates, so nothing is rounded; grams are of the lot as it is, chaff included."""

    seeds_per_m2: Floats
    grams_per_m2: Floats
    grams: Floats


def bed_sowing(
    *,
    density_per_m2: ArrayLike,
    germination: ArrayLike,
    tsw_g: ArrayLike,
    area_m2: ArrayLike,
    purity: ArrayLike = 1.0,
    survival: ArrayLike = 1.0,
) -> BedSowing:
    """Seed for beds that shall carry a number of plants a square metre; all arguments broadcast.

    Parameters
    ----------
    density_per_m2, area_m2 : array_like
        Plants wanted per m² and bed area in m², 0 or more.
    germination, purity, survival : array_like
        Fractions above 0; survival from seedling to lifting.
    tsw_g : array_like
        Grams per thousand pure seeds, above 0.

    Raises
    ------
    ValueError
        For values outside those ranges.
    """
    growing = fraction("germination", germination, positive=True) * fraction("survival", survival, positive=True)
    seeds = amount("density_per_m2", density_per_m2) / growing
    per_m2 = grams_of_seeds(seeds, amount("tsw_g", tsw_g, positive=True), purity)
    return BedSowing(np.asarray(seeds), per_m2, np.asarray(per_m2 * amount("area_m2", area_m2)))
