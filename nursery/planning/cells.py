"""Seeds per cell: how many cells stay empty, and which number of seeds fills a cell most cheaply.

The binomial rule 1 − (1 − g)^n is the "95 % rule" of seed spotting: Roy 1957, quoted in Schubert & Fowells,
*Sowing Rates for Reforestation by the Seed-spotting Method*, USDA Forest Service, Pacific Southwest station,
advises 5 seeds a spot at a viability of one half.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, Ints, amount, counts, fraction
from nursery.planning.rounding import whole

#: Most seeds a cell that the search for the cheapest number looks at.
MAX_SEEDS_PER_CELL = 50


@dataclass(frozen=True)
class CellFill:
    """Fractions of cells; ``filled`` holds one seedling or more, ``multiple`` two or more."""

    empty: Floats
    filled: Floats
    multiple: Floats


def filled_cells(germination: ArrayLike, n: ArrayLike) -> Floats:
    """Fraction of cells with at least one seedling, 1 − (1 − g)^n.

    Parameters
    ----------
    germination : array_like
        Chance 0–1 that one seed gives a seedling (germination × emergence).
    n : array_like
        Seeds per cell, above 0; broadcasts with ``germination``.

    Raises
    ------
    ValueError
        For a chance outside 0–1 or no seed.
    """
    return np.asarray(1 - (1 - fraction("germination", germination)) ** amount("n", n, positive=True))


def cell_fill(germination: ArrayLike, n: ArrayLike) -> CellFill:
    """Fractions of cells that stay empty, hold a seedling, and need thinning.

    Parameters
    ----------
    germination : array_like
        Chance 0–1 that one seed gives a seedling.
    n : array_like of int
        Seeds per cell, 1 or more.

    Returns
    -------
    CellFill
        empty = (1 − g)^n, filled = 1 − empty, multiple = filled − n·g·(1 − g)^(n − 1).

    Raises
    ------
    ValueError
        For a chance outside 0–1 or a number of seeds that is not whole or below 1.
    """
    g, seeds = fraction("germination", germination), counts("n", n, least=1)
    empty = np.asarray((1 - g) ** seeds)
    single = seeds * g * (1 - g) ** (seeds - 1)
    return CellFill(empty, np.asarray(1 - empty), np.maximum(1 - empty - single, 0.0))


def seeds_per_cell_for_fill(e: ArrayLike, wanted_fill: ArrayLike) -> Ints:
    """Smallest number of seeds per cell that fills the wanted fraction of cells.

    Parameters
    ----------
    e : array_like
        Chance that one seed gives a seedling, above 0 up to 1.
    wanted_fill : array_like
        Fraction of cells wanted with a seedling, 0 up to but below 1 (1 only where ``e`` is 1).

    Returns
    -------
    ndarray of int64
        ``max(1, ceil(ln(1 − F) ÷ ln(1 − e)))``.

    Raises
    ------
    ValueError
        For values outside those ranges.
    """
    chance, fill = np.broadcast_arrays(fraction("e", e, positive=True), fraction("wanted_fill", wanted_fill))
    sure = chance == 1
    if np.any((fill == 1) & ~sure):
        raise ValueError("wanted_fill of 1 is out of reach unless every seed gives a seedling")
    needed = np.ones(chance.shape)
    np.divide(
        np.log1p(-fill, where=~sure, out=np.zeros(chance.shape)),
        np.log1p(-chance, where=~sure, out=np.full(chance.shape, -1.0)),
        out=needed,
        where=~sure,
    )
    return np.maximum(whole(needed), 1)


def cost_of_filled_cell(
    e: ArrayLike, n: ArrayLike, cost_seed: ArrayLike, cost_thin: ArrayLike, cost_cell: ArrayLike
) -> Floats:
    """Cost of one cell that holds a seedling.

    One sown cell costs ``n·cost_seed + thinned·cost_thin + cost_cell`` where the seedlings to be thinned are
    ``thinned = n·e − fill`` on average and ``fill = 1 − (1 − e)^n``; divided by ``fill``, because the cells
    that stay empty have to be paid for by those that do not.

    Parameters
    ----------
    e : array_like
        Chance that one seed gives a seedling, above 0 up to 1.
    n : array_like
        Seeds per cell, above 0.
    cost_seed, cost_thin, cost_cell : array_like
        Money (or hours) per seed, per seedling thinned, per cell sown; 0 or more.

    Raises
    ------
    ValueError
        For values outside those ranges.
    """
    chance, seeds = fraction("e", e, positive=True), amount("n", n, positive=True)
    fill = filled_cells(chance, seeds)
    cell = seeds * amount("cost_seed", cost_seed) + amount("cost_cell", cost_cell)
    return np.asarray((cell + (seeds * chance - fill) * amount("cost_thin", cost_thin)) / fill)


def least_cost_seeds_per_cell(
    e: ArrayLike,
    cost_seed: ArrayLike,
    cost_thin: ArrayLike,
    cost_cell: ArrayLike,
    max_n: int = MAX_SEEDS_PER_CELL,
) -> Ints:
    """Seeds per cell for which a filled cell costs least (see `cost_of_filled_cell`).

    Parameters
    ----------
    e : array_like
        Chance that one seed gives a seedling, above 0 up to 1.
    cost_seed, cost_thin, cost_cell : array_like
        Costs in one unit, 0 or more; broadcast with ``e``.
    max_n : int
        Most seeds considered; binding only where seed and thinning cost next to nothing.

    Returns
    -------
    ndarray of int64
        1 … ``max_n``; of equal costs the fewest seeds.
    """
    options = np.arange(1, max_n + 1)
    lines = np.broadcast_arrays(*(np.asarray(x, np.float64) for x in (e, cost_seed, cost_thin, cost_cell)))
    cost = cost_of_filled_cell(lines[0][..., None], options, *(line[..., None] for line in lines[1:]))
    # Relative slack, so that rounding in the last digit cannot prefer more seeds at the same cost.
    cheap = cost <= cost.min(axis=-1, keepdims=True) * (1 + 1e-12)
    return np.asarray(options[np.argmax(cheap, axis=-1)], dtype=np.int64)
