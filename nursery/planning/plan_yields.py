"""What a cell gives: from germination to plants ready, by method and line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.cells import least_cost_seeds_per_cell
from nursery.planning.heavy import pd
from nursery.planning.plan_inputs import Costs
from nursery.planning.quantities import cell_success, one_per_cell, seeds_for_cells
from nursery.planning.words import Method

#: No lot counts as worse than this when it is asked how many seeds a cell needs; such seed is not sown anyway.
LEAST_GERMINATION = 0.001
#: Trials that a lot's own germination test is worth. Own convention, no source: four replicates of a hundred
#: seeds say little about how a batch differs from the test, so far fewer than 400.
TESTED_WEIGHT = 40.0


@dataclass(frozen=True)
class Growth:
    """Per line: the method, the rates after the seedling, and the unit that is counted.

    A unit is a sown cell, or a seed in a bareroot bed. ``per_tray`` is 1 where there are no trays.
    """

    method: np.ndarray
    emergence: Floats
    survival: Floats
    seeds_per_cell: Ints
    per_tray: Ints
    in_bed: Bools

    def ready_per_unit(self, germination: Floats, line: Ints) -> Floats:
        """Plants ready from one unit of seed of that germination, on average."""
        success = cell_success(
            self.method[line],
            _sowable(germination),
            self.emergence[line],
            np.maximum(self.seeds_per_cell[line], 1),
        )
        return np.asarray(success * self.survival[line])

    def seeds_per_unit(self, germination: Floats, line: Ints) -> Floats:
        """Seeds that one unit takes, unrounded."""
        each = seeds_for_cells(
            self.method[line],
            1.0,
            _sowable(germination),
            self.emergence[line],
            np.maximum(self.seeds_per_cell[line], 1),
        )
        return np.where(self.in_bed[line], 1.0, each)


def _sowable(germination: Floats) -> Floats:
    return np.maximum(germination, LEAST_GERMINATION)


class HasTable(Protocol):
    """A table of protocols, as `plan_inputs.Protocols` has it."""

    @property
    def table(self) -> pd.DataFrame:
        """A row each."""
        ...


class Rated(Protocol):
    """What of `PlanInputs` the yields rest on: ``seeds_per_cell, cells_per_tray`` of lines, rates, and costs."""

    @property
    def lines(self) -> pd.DataFrame:
        """A row a line."""
        ...

    @property
    def protocols(self) -> HasTable:
        """Their rates."""
        ...

    @property
    def costs(self) -> Costs:
        """By which seeds per cell are chosen."""
        ...


def growth_of(inputs: Rated, row: Ints, germination: Floats) -> Growth:
    """Rates of each line, and its seeds per cell: pinned, else the protocol's, else of least cost.

    Parameters
    ----------
    inputs : Rated
        Such as `PlanInputs`.
    row : ndarray of int, shape (lines,)
        Protocol rows.
    germination : ndarray, shape (lines,)
        Germination on the day of sowing by which the seeds per cell are chosen.
    """
    table = inputs.protocols.table.iloc[row]
    method = table["method"].to_numpy(dtype=np.str_)
    emergence = table["emergence_mean"].to_numpy()
    pinned = inputs.lines["seeds_per_cell"].to_numpy()
    usual = table["seeds_per_cell"].to_numpy()
    costs = inputs.costs
    cheapest = least_cost_seeds_per_cell(_sowable(germination * emergence), costs.seed, costs.thin, costs.cell)
    # Cuttings are set singly unless a person or the protocol says otherwise: a second one is rarely thinned.
    chosen = np.where(method == str(Method.CUTTINGS), 1, cheapest)
    wish = np.where(pinned > 0, pinned, np.where(usual > 0, usual, chosen))
    in_bed = method == str(Method.BAREROOT)
    per_tray = inputs.lines["cells_per_tray"].to_numpy()
    survival = (
        table["establishment_mean"].to_numpy()
        * table["hardening_mean"].to_numpy()
        * (1 - table["cull_mean"].to_numpy())
    )
    return Growth(
        method=method,
        emergence=emergence,
        survival=survival,
        seeds_per_cell=one_per_cell(method, np.maximum(wish, 1)),
        per_tray=np.where(in_bed | (per_tray < 1), 1, per_tray),
        in_bed=in_bed,
    )


@dataclass(frozen=True)
class Stages:
    """Means and weights for `assurance`, shape (lines, 4), and the seeds per cell of the first stage."""

    mean: Floats
    weight: Floats
    seeds_per_cell: Ints

    def only(self, which: Ints) -> Stages:
        """The same for some of the lines."""
        return Stages(self.mean[which], self.weight[which], self.seeds_per_cell[which])


def stages_of(inputs: Rated, row: Ints, growth: Growth, germination: Floats, tested: Bools) -> Stages:
    """The chain of rate distributions from a unit to a ready plant.

    The first stage is germination × emergence with the lesser of their weights; pre-sprouted seed starts at
    emergence, pricked-out stock at establishment. A lot's own test is worth ``TESTED_WEIGHT`` trials at least.
    """
    table = inputs.protocols.table.iloc[row]
    weight = table["germination_weight"].to_numpy()
    weight = np.where(tested, np.maximum(weight, TESTED_WEIGHT), weight)
    emergence, emergence_weight = table["emergence_mean"].to_numpy(), table["emergence_weight"].to_numpy()
    sprouted = growth.method == str(Method.PRESPROUTED)
    pricked = growth.method == str(Method.PRICKED_OUT)
    first = np.where(sprouted, emergence, germination * emergence)
    first_weight = np.where(sprouted, emergence_weight, np.minimum(weight, emergence_weight))
    mean = [np.where(pricked, 1.0, first)] + [
        table[f"{rate}_mean"].to_numpy() for rate in ("establishment", "hardening")
    ]
    weights = [first_weight] + [table[f"{rate}_weight"].to_numpy() for rate in ("establishment", "hardening")]
    mean.append(1 - table["cull_mean"].to_numpy())
    weights.append(table["cull_weight"].to_numpy())
    return Stages(np.column_stack(mean), np.column_stack(weights), np.maximum(growth.seeds_per_cell, 1))
