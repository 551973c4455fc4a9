"""Lines that batches cover, wholly or in part: their days, and what comes of them in all."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.assurance import Assured, chance
from nursery.planning.growing.forecast import LEVELS
from nursery.planning.heavy import pd
from nursery.planning.plan_dates import Dating
from nursery.planning.plan_growing import PlanGrowing
from nursery.planning.plan_yields import Stages


def covered_days(growing: PlanGrowing, covered: Bools, dating: Dating, lines: pd.DataFrame) -> Dating:
    """Lines that are wholly covered are planted when their plants are ready, on the first day that will do.

    There is nothing left to begin, so that such a line is never late.
    """
    first, closes = (lines[name].to_numpy().astype("datetime64[D]") for name in ("pinned_day", "window_close"))
    opens = lines["window_open"].to_numpy().astype("datetime64[D]")
    grown = np.where(np.isnat(growing.ready_on), opens, growing.ready_on)
    free = np.maximum(opens, np.minimum(np.maximum(grown, opens), np.maximum(closes, opens)))
    sown_on = np.where(np.isnat(growing.sown_on), dating.sow_on, growing.sown_on)
    ready_on = np.where(np.isnat(growing.ready_on), dating.ready_on, growing.ready_on)
    return replace(
        dating,
        plant_on=np.where(covered, np.where(np.isnat(first), free, first), dating.plant_on),
        start=np.where(covered, sown_on, dating.start),
        sow_on=np.where(covered, sown_on, dating.sow_on),
        ready_on=np.where(covered, ready_on, dating.ready_on),
        in_time=dating.in_time | covered,
    )


def with_growing(growing: PlanGrowing | None, sown: Assured, stages: Stages, ready: Ints) -> Assured:
    """Ready plants of each line in all: of its batches, and of what is to be sown still.

    Parameters
    ----------
    growing : PlanGrowing
    sown : Assured
        Of what is to be sown.
    stages : Stages
        By which that was judged.
    ready : ndarray of int, shape (lines,)
        Ready plants wanted in all.
    """
    if growing is None or not growing.some.any():
        return sown
    at = np.flatnonzero(growing.some)
    both = growing.together
    chances = sown.probability.copy()
    chances[at] = _chance(growing, sown, stages.only(at), ready, at)
    return replace(
        sown,
        expected=sown.expected + both.expected,
        p10=sown.p10 + both.p10,
        p90=sown.p90 + both.p90,
        probability=chances,
    )


def _chance(growing: PlanGrowing, sown: Assured, stages: Stages, ready: Ints, at: Ints) -> Floats:
    """P(batches + new sowing ≥ ready): one less the first level at which the sum of both quantiles is enough."""
    low, high = np.full(len(at), -1), np.full(len(at), len(LEVELS))
    while np.any(high - low > 1):
        middle = np.clip((low + high) // 2, 0, len(LEVELS) - 1)
        rest = np.maximum(ready[at] - growing.levels[at, middle], 0)
        passed = chance(sown.start[at], rest, stages.mean, stages.weight, seeds_per_cell=stages.seeds_per_cell)
        enough = (rest == 0) | (passed > 1 - LEVELS[middle])
        open_ = high - low > 1
        high = np.where(open_ & enough, middle, high)
        low = np.where(open_ & ~enough, middle, low)
    return 1 - high / len(LEVELS)
