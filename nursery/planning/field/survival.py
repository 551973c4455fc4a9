"""From plants counted in plots to survival at a site, and to the plants that make up for losses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Floats, Ints, amount, counts, fraction
from nursery.planning.intervals import wilson_interval
from nursery.planning.rounding import whole

#: Marked plants of a species at a site that a survey looks at: at least, better; or shares of all that were
#: planted. Common practice, no source.
LEAST_MARKED, BETTER_MARKED = 30, 50
LEAST_SHARE, BETTER_SHARE = 0.05, 0.10
CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Survival:
    """Shares of the plants first planted that live, with their intervals."""

    rate: Floats
    low: Floats
    high: Floats


def survival_rates(planted: ArrayLike, alive: ArrayLike) -> Survival:
    """Alive among first planted, with the Wilson 95 % interval; replacements are no part of either.

    Parameters
    ----------
    planted, alive : array_like
        Plants in plots; planted at least 1, alive at most as many.

    Notes
    -----
    The interval takes each plant for itself. Plants of one plot share its soil and its deer, so that the truth may
    lie outside more often than 1 time in 20 where plots are few.
    """
    first, living = counts("planted", planted, least=1), counts("alive", alive)
    low, high = wilson_interval(living, first, CONFIDENCE)
    return Survival(living / first, low, high)


@dataclass(frozen=True, slots=True)
class Sample:
    """How many plants of a species a survey of a site should look at."""

    least: Ints
    better: Ints
    share_low: Ints
    share_high: Ints


def sample_of(planted: ArrayLike) -> Sample:
    """Marked plants for so many planted: 30 to 50 or all there are; beside it what 5 to 10 % would be."""
    plants = counts("planted", planted)
    return Sample(
        np.minimum(plants, LEAST_MARKED),
        np.minimum(plants, BETTER_MARKED),
        whole(plants * LEAST_SHARE),
        whole(plants * BETTER_SHARE),
    )


@dataclass(frozen=True, slots=True)
class Missing:
    """Plants to plant so that as many live as were wished for, with their interval."""

    plants: Ints
    low: Ints
    high: Ints


def missing_plants(
    planted: ArrayLike, survival: Survival, *, standing: ArrayLike, wanted: ArrayLike, rate: ArrayLike
) -> Missing:
    """Replacements for what died, plots scaled to the whole site.

    Parameters
    ----------
    planted : array_like
        First planted at the whole site.
    survival : Survival
        As seen in plots.
    standing : array_like
        Living replacements of earlier winters for each plant first planted in the plots.
    wanted : array_like
        Plants that should live at the site by now.
    rate : array_like
        Share of the replacements that is expected to live; 1 where one plant is planted for each that is missing.

    Notes
    -----
    ``(wanted − planted · (alive + standing)) ÷ rate``, not below 0, rounded up once.
    """
    all_planted, wish = amount("planted", planted), amount("wanted", wanted)
    expected = fraction("rate", rate, positive=True)
    more = amount("standing", standing)

    def lacking(share: Floats) -> Ints:
        return whole(np.maximum(wish - all_planted * (share + more), 0.0) / expected)

    return Missing(lacking(survival.rate), lacking(survival.high), lacking(survival.low))


def shared_out(plants: int, weights: ArrayLike) -> Ints:
    """Whole plants shared out by weight, largest remainders first; the sum is kept to the plant."""
    weight = amount("weights", weights)
    if not weight.sum():
        weight = np.ones_like(weight)
    exact = plants * weight / weight.sum()
    shares: Ints = np.floor(exact + 1e-9).astype(np.int64)
    order = np.argsort(-(exact - shares), kind="stable")
    shares[order[: plants - int(shares.sum())]] += 1
    return shares
