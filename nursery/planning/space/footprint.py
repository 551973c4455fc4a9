"""The ground a tray takes, and how far apart trays stand at each stage.

Where the tray was not measured, each cell is taken to need the ground of a cube of its volume: common practice, no
source. Beside a published figure (Barnett & McGilvray 2000, Native Plants J. 1(1):54–58: cells of 100 mL at about
535 to the square metre) it asks for some 15 % more room, so that it errs to the safe side.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, amount
from nursery.planning.growing.words import Stage

#: Bench as a multiple of the trays' own ground, paths left out. Working figures, common practice, no source: trays
#: stand edge to edge until leaves meet, then apart for light and air, and together again to wait for the lorry.
SPACINGS: Mapping[Stage, float] = {
    Stage.SOWN: 1.0,
    Stage.EMERGED: 1.0,
    Stage.GROWING: 1.25,
    Stage.HARDENING: 1.25,
    Stage.READY: 1.0,
}
#: A flat (open tray) in which seed is sown broadly, 60 × 40 cm, and how many seeds one takes; common practice, no
#: source.
FLAT_M2 = 0.24
SEEDS_PER_FLAT = 500


def tray_ground(length_mm: ArrayLike, width_mm: ArrayLike, cells: ArrayLike, volume_cm3: ArrayLike) -> Floats:
    """Ground of one tray in m².

    Parameters
    ----------
    length_mm, width_mm : array_like
        As measured; NaN where unknown.
    cells : array_like
        Cells of a tray; NaN or 0 for a flat.
    volume_cm3 : array_like
        Volume of a cell; NaN for a flat.

    Returns
    -------
    ndarray
        Length × width where both are known, else cells × volume^(2/3), else `FLAT_M2`.

    Raises
    ------
    ValueError
        Where a known measure is not above 0.
    """
    length, width = _known("length_mm", length_mm), _known("width_mm", width_mm)
    number, volume = np.asarray(cells, np.float64), _known("volume_cm3", volume_cm3)
    by_cells = number * volume ** (2 / 3) / 1e4
    celled = np.where((number > 0) & np.isfinite(by_cells), by_cells, FLAT_M2)
    measured = length * width / 1e6
    return np.asarray(np.where(np.isfinite(measured), measured, celled))


def bench_area(trays: ArrayLike, ground_m2: ArrayLike, spacing: ArrayLike) -> Floats:
    """Bench that trays take, in m²: trays × ground × spacing."""
    return amount("trays", trays) * amount("ground_m2", ground_m2) * amount("spacing", spacing)


def flats_for(seeds: ArrayLike) -> Floats:
    """Whole flats that seeds fill before they are pricked out."""
    return np.ceil(amount("seeds", seeds) / SEEDS_PER_FLAT - 1e-9)


def _known(name: str, value: ArrayLike) -> Floats:
    array = np.asarray(value, dtype=np.float64)
    if np.any(array <= 0):
        raise ValueError(f"{name} must be above 0, not {array[array <= 0].flat[0]}")
    return array
