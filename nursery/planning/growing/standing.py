"""From what is known of batches to where a forecast starts: plants counted or seed sown, and the rates ahead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.growing.forecast import DEVIATIONS_95, Starts
from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.plan_yields import LEAST_GERMINATION, TESTED_WEIGHT
from nursery.planning.words import Method

#: Columns of `Rates.mean` and `Rates.weight`.
AHEAD = ("germination", "emergence", "establishment", "hardening", "cull")
EMERGED = STAGES.index(Stage.EMERGED)


@dataclass(frozen=True)
class Rates:
    """The protocol's rates of each batch, shape (batches, 5) in the order of `AHEAD`."""

    mean: Floats
    weight: Floats


@dataclass(frozen=True)
class Standing:
    """Batches, one row each.

    ``stage``: position in `STAGES` at which plants were counted last; 0 where none were, and then ``plants`` says
    nothing. ``plants``: alive by the ledger, so that losses since the count are taken off. ``low``, ``high``: the
    count's interval (95 %) around ``counted``. ``cells``: of all its trays, 0 in flats or a bed.
    ``is_thinned``: seedlings have been thinned, so that a cell holds one at most. ``seeds_per_cell``: 0 where
    unknown. ``viability``: of the seed on the day of sowing, NaN where unknown.
    """

    method: np.ndarray
    stage: Ints
    plants: Ints
    counted: Ints
    low: Ints
    high: Ints
    seeds: Ints
    seeds_per_cell: Ints
    cells: Ints
    viability: Floats
    is_tested: Bools
    is_thinned: Bools


def starts_of(batches: Standing, rates: Rates) -> Starts:
    """What each batch starts from, and the rates still before it.

    Not yet counted: sown cells, each filled where one of its seeds comes up (seeds, where there are no cells or
    seedlings are pricked out; pre-sprouted seed comes up at the emergence rate alone). Counted: the plants alive,
    and the rates of the stages after that of the count. In the end a cell holds one plant: seedlings that were not
    thinned yet share cells as chance has it.
    """
    counted = batches.stage >= EMERGED
    sown, sown_mean, sown_weight, per_cell = _sown(batches, rates)
    plants, slope = _in_cells(batches)
    mean, weight = np.ones((len(plants), 4)), np.full((len(plants), 4), np.inf)
    mean[:, 0], weight[:, 0] = np.where(counted, 1.0, sown_mean), np.where(counted, np.inf, sown_weight)
    # Establishment lies before `growing`, hardening before `hardening`, the cull before `ready`.
    for column, rate in enumerate(AHEAD[2:], start=1):
        ahead = batches.stage <= column
        value = rates.mean[:, column + 1]
        mean[ahead, column] = (1 - value if rate == "cull" else value)[ahead]
        weight[ahead, column] = rates.weight[ahead, column + 1]
    below = np.where(counted, slope * (batches.counted - batches.low) / DEVIATIONS_95, 0.0)
    above = np.where(counted, slope * (batches.high - batches.counted) / DEVIATIONS_95, 0.0)
    gone = counted & (batches.plants <= 0)
    return Starts(
        start=np.where(counted, plants, sown),
        below=np.where(gone, 0.0, np.maximum(below, 0.0)),
        above=np.where(gone, 0.0, np.maximum(above, 0.0)),
        mean=mean,
        weight=weight,
        seeds_per_cell=np.where(counted, 1, per_cell),
    )


def _sown(batches: Standing, rates: Rates) -> tuple[Ints, Floats, Floats, Ints]:
    """Start, mean and weight of the first stage, and seeds per cell, of batches that came up in no count yet."""
    germination = np.where(np.isnan(batches.viability), rates.mean[:, 0], batches.viability)
    germination = np.maximum(germination, LEAST_GERMINATION)
    emergence, emergence_weight = rates.mean[:, 1], rates.weight[:, 1]
    tested = np.where(batches.is_tested, TESTED_WEIGHT, 0.0)
    both = np.minimum(np.maximum(rates.weight[:, 0], tested), emergence_weight)
    in_cells = (batches.cells > 0) & ~_is(batches, Method.PRICKED_OUT, Method.BAREROOT)
    sprouted = in_cells & _is(batches, Method.PRESPROUTED)
    guess = np.rint(batches.seeds / np.maximum(batches.cells, 1)).astype(np.int64)
    each = np.maximum(np.where(batches.seeds_per_cell > 0, batches.seeds_per_cell, guess), 1)
    # A last tray may be filled in part only.
    filled = np.minimum(batches.cells, -(-batches.seeds // each))
    germinated = np.floor(batches.seeds * germination + 1e-9).astype(np.int64)
    cells = np.where(sprouted, np.minimum(batches.cells, np.maximum(germinated, 0)), filled)
    return (
        np.where(in_cells, cells, batches.seeds),
        np.where(sprouted, emergence, germination * emergence),
        np.where(sprouted, emergence_weight, both),
        np.where(in_cells & ~sprouted, each, 1),
    )


def _in_cells(batches: Standing) -> tuple[Ints, Floats]:
    """Plants that can stay: one a cell. And by how much they change with one plant more."""
    cells = np.maximum(batches.cells, 1).astype(np.float64)
    each = np.maximum(batches.seeds_per_cell, 1)
    crowded = (batches.stage == EMERGED) & (each > 1) & (batches.cells > 0) & ~batches.is_thinned
    # Of each · cells places, each with a seedling or none, those cells are filled that have one or more.
    empty = 1 - np.minimum(batches.plants / (cells * each), 1.0)
    filled = np.rint(cells * (1 - empty**each)).astype(np.int64)
    capped = np.where(batches.cells > 0, np.minimum(batches.plants, batches.cells), batches.plants)
    return np.where(crowded, filled, capped), np.where(crowded, empty ** (each - 1.0), 1.0)


def _is(batches: Standing, *methods: Method) -> Bools:
    return np.isin(batches.method.astype(np.str_), [str(method) for method in methods])
