"""From survivors wanted back to plants, cells, trays, seeds and grams."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nursery.planning.arrays import Floats, Ints, amount, counts, fraction
from nursery.planning.cells import filled_cells
from nursery.planning.rounding import whole
from nursery.planning.words import Method


@dataclass(frozen=True)
class Quantities:
    """One element per line; whole numbers rounded up once from the unrounded chain, grams unrounded."""

    plants_to_plant: Ints
    ready_plants: Ints
    seedlings: Ints
    cells: Ints
    trays: Ints
    cells_sown: Ints
    seeds: Ints
    grams: Floats


def one_per_cell(method: ArrayLike, seeds_per_cell: ArrayLike) -> Ints:
    """Seeds (or sprouted seeds, seedlings) that go into a cell: the wish only for direct sowing and cuttings.

    Parameters
    ----------
    method : array_like of str
        Codes of `Method`.
    seeds_per_cell : array_like of int
        The wish, 1 or more.

    Returns
    -------
    ndarray of int64
        The wish, or 1 for pre-sprouted and pricked-out stock; 0 for bareroot beds, which have no cells.
    """
    wish, codes = np.broadcast_arrays(counts("seeds_per_cell", seeds_per_cell, least=1), _methods(method))
    several = _is(codes, Method.DIRECT, Method.CUTTINGS)
    return np.where(several, wish, np.where(_is(codes, Method.BAREROOT), 0, 1))


def cell_success(
    method: ArrayLike, germination: ArrayLike, emergence: ArrayLike = 1.0, seeds_per_cell: ArrayLike = 1
) -> Floats:
    """Fraction of sown cells that hold a seedling, by method.

    Parameters
    ----------
    method : array_like of str
        Codes of `Method`.
    germination, emergence : array_like
        Fractions above 0; for cuttings ``germination`` is the fraction that roots.
    seeds_per_cell : array_like of int
        Used for direct sowing and cuttings.

    Returns
    -------
    ndarray of float
        direct and cuttings 1 − (1 − germination × emergence)^n; pre-sprouted ``emergence``, since only
        sprouted seed is set; pricked-out 1, since each cell gets a seedling; bareroot germination ×
        emergence, per seed.
    """
    codes = _methods(method)
    g, m = (
        fraction("germination", germination, positive=True),
        fraction("emergence", emergence, positive=True),
    )
    fill = filled_cells(g * m, counts("seeds_per_cell", seeds_per_cell, least=1))
    fill = np.where(_is(codes, Method.PRESPROUTED), m, fill)
    fill = np.where(_is(codes, Method.PRICKED_OUT), 1.0, fill)
    return np.where(_is(codes, Method.BAREROOT), g * m, fill)


def seeds_for_cells(
    method: ArrayLike,
    cells_sown: ArrayLike,
    germination: ArrayLike,
    emergence: ArrayLike = 1.0,
    seeds_per_cell: ArrayLike = 1,
) -> Floats:
    """Seeds (or cuttings) that a number of sown cells takes, unrounded; 0 for bareroot, which has no cells.

    Returns
    -------
    ndarray of float
        direct and cuttings cells × n; pre-sprouted cells ÷ germination; pricked-out cells ÷ (germination ×
        emergence).
    """
    codes, sown = _methods(method), amount("cells_sown", cells_sown)
    g, m = (
        fraction("germination", germination, positive=True),
        fraction("emergence", emergence, positive=True),
    )
    seeds = sown * one_per_cell(codes, seeds_per_cell)
    seeds = np.where(_is(codes, Method.PRESPROUTED), sown / g, seeds)
    return np.where(_is(codes, Method.PRICKED_OUT), sown / (g * m), seeds)


def grams_of_seeds(seeds: ArrayLike, tsw_g: ArrayLike, purity: ArrayLike = 1.0) -> Floats:
    """Grams of lot that hold a number of pure seeds: seeds × thousand-seed weight ÷ 1000 ÷ purity.

    A ``tsw_g`` of 0 (cuttings) gives 0 g.
    """
    pure = fraction("purity", purity, positive=True)
    return np.asarray(amount("seeds", seeds) * amount("tsw_g", tsw_g) / 1000 / pure)


def quantities(
    *,
    plants: ArrayLike,
    method: ArrayLike,
    germination: ArrayLike,
    emergence: ArrayLike = 1.0,
    establishment: ArrayLike = 1.0,
    hardening: ArrayLike = 1.0,
    cull: ArrayLike = 0.0,
    handling_loss: ArrayLike = 0.0,
    field_survival: ArrayLike = 1.0,
    seeds_per_cell: ArrayLike = 1,
    cells_per_tray: ArrayLike = 1,
    tsw_g: ArrayLike = 0.0,
    purity: ArrayLike = 1.0,
    spare_trays: ArrayLike = 0,
) -> Quantities:
    """Work the chain backward for all lines at once; all arguments broadcast.

    ``plants`` ÷ field survival → plants to plant ÷ (1 − handling loss) → ready plants ÷ [(1 − cull) ×
    hardening × establishment] → seedlings ÷ fraction of cells filled → cells → trays → seeds → grams.

    Parameters
    ----------
    plants : array_like
        Survivors wanted (or plants, with a field survival of 1), 0 or more.
    method : array_like of str
        Codes of `Method`.
    germination, emergence, establishment, hardening, field_survival, purity : array_like
        Fractions above 0. For pricked-out stock ``establishment`` includes living through pricking out.
    cull, handling_loss : array_like
        Fractions lost, 0 up to but below 1.
    seeds_per_cell : array_like of int
        See `one_per_cell`.
    cells_per_tray, spare_trays : array_like of int
        Whole trays are sown, plus the spare ones. Bareroot beds have neither.
    tsw_g : array_like
        Grams per thousand pure seeds; 0 for cuttings.

    Returns
    -------
    Quantities
        Arrays of the broadcast shape. Whole things are rounded up once from the unrounded chain; sown cells
        are trays × cells per tray and seeds follow from those.

    Raises
    ------
    ValueError
        For a value outside its range; one impossible line refuses the call.

    Notes
    -----
    The product form (fill × survival × (1 − cull)) is common practice of container nurseries, no source.
    """
    ready = amount("plants", plants) / fraction("field_survival", field_survival, positive=True)
    handled = fraction("1 − handling_loss", 1 - fraction("handling_loss", handling_loss), positive=True)
    kept = fraction("1 − cull", 1 - fraction("cull", cull), positive=True)
    grown = kept * fraction("hardening", hardening, positive=True)
    grown = grown * fraction("establishment", establishment, positive=True)
    seedlings = ready / handled / grown
    success = cell_success(method, germination, emergence, seeds_per_cell)
    per_tray, spare = counts("cells_per_tray", cells_per_tray, least=1), counts("spare_trays", spare_trays)
    in_bed = _is(_methods(method), Method.BAREROOT)
    cells = np.where(in_bed, 0.0, seedlings / success)
    trays = np.where(in_bed, 0, whole(cells / per_tray) + spare)
    sown = trays * per_tray
    in_cells = seeds_for_cells(method, sown, germination, emergence, seeds_per_cell)
    seeds = np.where(in_bed, seedlings / success, in_cells)
    grams = grams_of_seeds(seeds, tsw_g, purity)
    wholes = (whole(x) for x in (ready, ready / handled, seedlings, cells))
    shaped = np.broadcast_arrays(*wholes, trays, sown, whole(seeds), grams)
    return Quantities(*shaped)


def _methods(method: ArrayLike) -> NDArray[np.str_]:
    codes = np.asarray(method, dtype=np.str_)
    unknown = ~np.isin(codes, [str(known) for known in Method])
    if np.any(unknown):
        raise ValueError(f"unknown method {codes[unknown].flat[0]!r}")
    return codes


def _is(codes: NDArray[np.str_], *methods: Method) -> NDArray[np.bool_]:
    return np.isin(codes, [str(method) for method in methods])
