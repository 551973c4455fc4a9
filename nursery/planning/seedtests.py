"""Results of seed tests: weight, germination, moisture, what a lot holds.

Weight of 8 replicates of 100 with limits on the coefficient of variation: from memory (seed testing rules). Pure
live seed = purity × germination: common practice; example 96 % × 91 % = 87.36 %
(Rangelands Gateway glossary).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Bools, Floats, amount, counts, fraction
from nursery.planning.intervals import wilson_interval
from nursery.planning.tolerances import tolerated_range

#: Largest coefficient of variation, %, of the replicates' weights; from memory.
CV_LIMIT, CV_LIMIT_CHAFFY = 4.0, 6.0


@dataclass(frozen=True)
class SeedWeight:
    """Thousand-seed weight with the spread of the replicates (sample standard deviation)."""

    tsw_g: Floats
    sd_g: Floats
    cv_pct: Floats
    accepted: Bools


@dataclass(frozen=True)
class GerminationTest:
    """Mean, range and tolerated range in % and points; Wilson interval of all seeds together, in %."""

    mean_pct: float
    range_pct: float
    tolerance_pct: float
    accepted: bool
    low_pct: float
    high_pct: float


def seed_weight(
    replicates_g: ArrayLike, seeds_per_replicate: ArrayLike = 100, chaffy: ArrayLike = False
) -> SeedWeight:
    """Thousand-seed weight from weighed replicates.

    Parameters
    ----------
    replicates_g : array_like, shape (..., replicates)
        Grams of each replicate, above 0; two replicates or more, usually 8.
    seeds_per_replicate : array_like of int
        Seeds counted into each.
    chaffy : array_like of bool
        Chaffy seed may vary more (6.0 % instead of 4.0 %).

    Raises
    ------
    ValueError
        For weights of 0 or below, one replicate, or no seeds.
    """
    grams = amount("replicates_g", replicates_g, positive=True)
    if grams.ndim == 0 or grams.shape[-1] < 2:
        raise ValueError("replicates_g needs two replicates or more")
    mean, sd = grams.mean(-1), grams.std(-1, ddof=1)
    cv = 100 * sd / mean
    limit = np.where(chaffy, CV_LIMIT_CHAFFY, CV_LIMIT)
    tsw = mean * 1000 / counts("seeds_per_replicate", seeds_per_replicate, least=1)
    return SeedWeight(np.asarray(tsw), np.asarray(sd), np.asarray(cv), np.asarray(cv <= limit + 1e-9))


def within_two_sd(replicates_g: ArrayLike) -> Bools:
    """Which replicates lie within two sample standard deviations of the mean of all.

    Used where eight replicates were refused and eight more were weighed: those beyond are left out, and the mean
    of the others is the weight (seed testing rules, from memory).

    Parameters
    ----------
    replicates_g : array_like, shape (replicates,)
        Grams of each replicate, above 0; two or more.

    Raises
    ------
    ValueError
        As `seed_weight`.
    """
    grams = amount("replicates_g", replicates_g, positive=True)
    weight = seed_weight(grams)
    return np.asarray(np.abs(grams - grams.mean()) <= 2 * weight.sd_g + 1e-12)


def germination_test(germinated: ArrayLike, seeds_per_replicate: int = 100) -> GerminationTest:
    """Judge the replicates of one germination test.

    Parameters
    ----------
    germinated : array_like of int, shape (replicates,)
        Seeds germinated in each replicate; two or more.
    seeds_per_replicate : int
        Seeds laid out in each.

    Raises
    ------
    ValueError
        For fewer than two replicates, or counts below 0 or above the seeds laid out.
    """
    number = counts("germinated", germinated)
    if number.ndim != 1 or len(number) < 2 or np.any(number > seeds_per_replicate):
        raise ValueError("germinated needs two counts or more, none above the seeds of a replicate")
    pct = 100 * number / seeds_per_replicate
    mean, spread = float(pct.mean()), float(np.ptp(pct))
    tolerance = tolerated_range(mean, len(number), seeds_per_replicate)
    low, high = wilson_interval(number.sum(), len(number) * seeds_per_replicate)
    return GerminationTest(
        mean, spread, tolerance, spread <= tolerance + 1e-9, 100 * float(low), 100 * float(high)
    )


def moisture_tolerance(mean_pct: float, tsw_g: float) -> float:
    """Largest difference between two oven samples of tree and shrub seed, in points of moisture content.

    Small seed (more than 5,000 in a kilogram): 0.3 below 12 % moisture, else 0.5. Large seed: 0.4 below 12 %, 0.8
    up to 25 %, else 2.5. From memory (seed testing rules).
    """
    small = tsw_g < 1_000_000 / 5_000
    if mean_pct < 12:
        return 0.3 if small else 0.4
    if small:
        return 0.5
    return 0.8 if mean_pct <= 25 else 2.5


def moisture_content(empty_g: ArrayLike, fresh_g: ArrayLike, dry_g: ArrayLike) -> Floats:
    """Moisture content, % of fresh weight: (fresh − dry) ÷ (fresh − empty container) × 100.

    Parameters
    ----------
    empty_g, fresh_g, dry_g : array_like
        Grams of the container, and of the container with the seed before and after drying;
        empty ≤ dry ≤ fresh and empty < fresh.

    Raises
    ------
    ValueError
        For weights in another order.

    Notes
    -----
    Formula as in the academy of the Center for Plant Conservation.
    """
    empty, fresh, dry = (
        amount(name, x) for name, x in (("empty_g", empty_g), ("fresh_g", fresh_g), ("dry_g", dry_g))
    )
    if np.any(fresh <= empty) or np.any(dry > fresh) or np.any(dry < empty):
        raise ValueError("weights must satisfy empty ≤ dry ≤ fresh and empty < fresh")
    return np.asarray(100 * (fresh - dry) / (fresh - empty))


def pure_live_seed(purity: ArrayLike, germination: ArrayLike) -> Floats:
    """Fraction of a lot that is pure and alive: purity × germination, both 0–1."""
    return np.asarray(fraction("purity", purity) * fraction("germination", germination))


def seeds_per_kg(tsw_g: ArrayLike) -> Floats:
    """Pure seeds in a kilogram of pure seed: 1 000 000 ÷ thousand-seed weight in g (above 0)."""
    return np.asarray(1_000_000 / amount("tsw_g", tsw_g, positive=True))
