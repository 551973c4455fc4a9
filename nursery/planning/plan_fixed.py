"""What grows already, as fixed pairs of the optimisation: it counts in every share and takes no seed."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from nursery.planning.allocation import Holdings, Pairs, Problem
from nursery.planning.arrays import Ints
from nursery.planning.heavy import pd
from nursery.planning.origin.rules import judge
from nursery.planning.plan_growing import PlanGrowing
from nursery.planning.plan_inputs import PlanInputs


def growing_sources(inputs: PlanInputs, growing: PlanGrowing, parts: pd.DataFrame) -> Ints:
    """The source of each part at the site of its line, as a position in `allocation.SOURCES`."""
    origin = inputs.origin
    lot, line = (parts[name].to_numpy(np.int64) for name in ("lot", "line"))
    found = judge(growing.lots, origin.sites, lot, origin.site[line], origin.rules, accepts=origin.accepts)
    return found.source


def with_fixed(problem: Problem, inputs: PlanInputs, parts: pd.DataFrame) -> Problem:
    """The problem with what grows already: each part is a lot that gives all it has, wanted beside the rest."""
    growing = inputs.growing
    if growing is None or not len(parts):
        return problem
    line, plants = parts["line"].to_numpy(np.int64), parts["plants"].to_numpy(np.float64)
    lots = growing.lots.iloc[parts["lot"].to_numpy(np.int64)]
    count = len(parts)
    known, most = (lots[name].to_numpy(np.float64) for name in ("effective_mothers", "most_mothers"))
    held = Holdings(
        seeds=np.ones(count),
        population=lots["population_id"].to_numpy(np.int64),
        effective_mothers=np.where(np.isnan(known), most, known),
        largest_family=lots["largest_family"].to_numpy(np.float64),
        kin=lots["lot_id"].to_numpy(np.int64),
    )
    nothing = np.zeros(count)
    pairs = Pairs(
        line=line,
        lot=len(problem.holdings) + np.arange(count),
        plants_per_seed=plants,
        least=nothing,
        source=growing_sources(inputs, growing, parts),
        cautions=np.zeros(count, np.int64),
        perishable=np.zeros(count, np.bool_),
        distance_m=nothing,
        pinned=nothing,
        before=nothing,
        fixed=np.ones(count, np.bool_),
    )
    more = np.bincount(line, plants, len(problem.needs))
    return Problem(
        replace(problem.needs, plants=problem.needs.plants + more),
        Holdings(**{each.name: _joined(problem.holdings, held, each.name) for each in fields(Holdings)}),
        Pairs(**{each.name: _joined(problem.pairs, pairs, each.name) for each in fields(Pairs)}),
    )


def _joined(first: object, second: object, name: str) -> np.ndarray:
    return np.concatenate([getattr(first, name), getattr(second, name)])
