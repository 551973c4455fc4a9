"""Sowings reckoned again from rates alone: what other rates would ask for, and what one wrong rate costs.

Lots, dates and what grows already are left out, so that two reckonings differ by their rates and by nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.assurance import smallest_start
from nursery.planning.heavy import pd
from nursery.planning.plan_inputs import RATES, Costs
from nursery.planning.plan_yields import growth_of, stages_of
from nursery.planning.rounding import whole
from nursery.planning.words import Method


@dataclass(frozen=True)
class StageRates:
    """Means by name of `RATES` and ``field_survival``, each one element per line; weights of `RATES`.

    ``field_survival`` is 1 where plants, not survivors, are wanted. ``reference`` is the germination by which the
    seeds per cell are chosen, where that is not the germination of what is sown.
    """

    mean: dict[str, Floats]
    weight: dict[str, Floats]


@dataclass(frozen=True)
class Asked:
    """What each line wants and how it is grown.

    ``plants``: plants to plant, or survivors. ``seeds_per_cell``: pinned, 0 where it may be chosen; ``usual``: the
    protocol's own, 0 for none. ``cells_per_tray``: 0 without trays. ``tested``: sown with seed whose own
    germination was tested.
    """

    plants: Floats
    method: np.ndarray
    assurance: Floats
    seeds_per_cell: Ints
    usual: Ints
    cells_per_tray: Ints
    spare_trays: Ints
    tested: Bools


@dataclass(frozen=True)
class Sowing:
    """One element per line. ``cells`` is 0 in a bed, ``trays`` 0 without any."""

    ready: Ints
    seeds_per_cell: Ints
    cells: Ints
    trays: Ints
    seeds: Ints


@dataclass(frozen=True)
class Sown:
    """What was sown, one element per line; ``cells`` 0 in a bed."""

    method: np.ndarray
    seeds: Ints
    cells: Ints
    seeds_per_cell: Ints


@dataclass(frozen=True)
class _Table:
    table: pd.DataFrame


@dataclass(frozen=True)
class _Inputs:
    """What `plan_yields` looks at."""

    lines: pd.DataFrame
    protocols: _Table
    costs: Costs


def sowing_for(asked: Asked, rates: StageRates, costs: Costs) -> Sowing:
    """The sowing that gives what is wanted with the chance asked for, as a plan reckons a line of one lot.

    Parameters
    ----------
    asked : Asked
    rates : StageRates
        ``germination`` is that of the seed on the day of sowing.
    costs : Costs

    Returns
    -------
    Sowing
        Whole trays and the spare ones; where no number reaches the chance, what is expected to do.
    """
    inputs, row = _inputs(asked, rates, costs), np.arange(len(asked.plants))
    survivors = asked.plants / rates.mean["field_survival"]
    ready = whole(survivors / (1 - rates.mean["handling_loss"]))
    germination = rates.mean["germination"]
    growth = growth_of(inputs, row, rates.mean.get("reference", germination))
    stages = stages_of(inputs, row, growth, germination, asked.tested)
    found = smallest_start(
        ready, asked.assurance, stages.mean, stages.weight, seeds_per_cell=stages.seeds_per_cell
    )
    units = np.where(found.reachable, found.start, ready / growth.ready_per_unit(germination, row))
    trays = whole(units / growth.per_tray) + np.where(ready > 0, asked.spare_trays, 0)
    sown = np.where(growth.in_bed, whole(units), trays * growth.per_tray)
    return Sowing(
        ready=ready,
        seeds_per_cell=growth.seeds_per_cell,
        cells=np.where(growth.in_bed, 0, sown).astype(np.int64),
        trays=np.where(growth.in_bed | (asked.cells_per_tray < 1), 0, trays).astype(np.int64),
        seeds=whole(sown * growth.seeds_per_unit(germination, row)),
    )


def ready_from(sown: Sown, rates: dict[str, Floats]) -> Floats:
    """Ready plants expected of what was sown: no more seedlings than cells where each cell gets one.

    Parameters
    ----------
    sown : Sown
    rates : dict of ndarray
        Means of germination, emergence, establishment, hardening and cull.
    """
    codes = np.asarray(sown.method, np.str_)
    germination, emergence = rates["germination"], rates["emergence"]
    both, seeds, cells = germination * emergence, sown.seeds, sown.cells
    filled = cells * (1 - (1 - both) ** np.maximum(sown.seeds_per_cell, 1))
    filled = np.where(codes == str(Method.PRESPROUTED), np.minimum(cells, seeds * germination) * emergence, filled)
    filled = np.where(codes == str(Method.PRICKED_OUT), np.minimum(cells, seeds * both), filled)
    filled = np.where(codes == str(Method.BAREROOT), seeds * both, filled)
    return np.asarray(filled * rates["establishment"] * rates["hardening"] * (1 - rates["cull"]))


def cost_of(name: str, seen: Floats, planned: StageRates, sown: Sown) -> Floats:
    """Plants more (or, below zero, fewer) of each line with one rate as seen and all others as planned.

    Of germination to cull they are ready plants; of the handling loss plants that arrive; of ``field_survival``
    plants alive.
    """
    base = ready_from(sown, planned.mean)
    if name == "handling_loss":
        return np.asarray(base * (planned.mean[name] - seen))
    if name == "field_survival":
        return np.asarray(base * (1 - planned.mean["handling_loss"]) * (seen - planned.mean[name]))
    return np.asarray(ready_from(sown, {**planned.mean, name: seen}) - base)


def _inputs(asked: Asked, rates: StageRates, costs: Costs) -> _Inputs:
    table = pd.DataFrame(
        {
            "method": asked.method,
            "seeds_per_cell": asked.usual,
            **{f"{name}_mean": rates.mean[name] for name in RATES},
            **{f"{name}_weight": rates.weight[name] for name in RATES},
        }
    )
    lines = pd.DataFrame({"seeds_per_cell": asked.seeds_per_cell, "cells_per_tray": asked.cells_per_tray})
    return _Inputs(lines, _Table(table), costs)
