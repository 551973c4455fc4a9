"""What each rule with limits measures of a pair, in the unit of its limits; NaN where a fact is missing."""

from __future__ import annotations

import numpy as np

from nursery.planning.arrays import Bools, Floats
from nursery.planning.origin.pairs import Pairs
from nursery.planning.origin.words import Rule


def measure(rule: Rule, pairs: Pairs, expected: Bools) -> Floats:
    """The value of each pair.

    ``expected`` marks pairs whose source the site's strategy takes for the climate to come: their climate is
    compared with the present and the expected one, and the smaller difference counts.
    """
    match rule:
        case Rule.ELEVATION:
            return np.abs(pairs.of_lot("elevation_m") - pairs.of_site("elevation_m"))
        case Rule.DISTANCE:
            return pairs.distance_m / 1000
        case Rule.MOTHERS:
            return pairs.of_lot("effective_mothers")
        case Rule.FAMILY:
            return pairs.of_lot("largest_family")
    present = _climate_difference(rule, pairs, "")
    if not np.any(expected):
        return present
    to_come = np.fmin(present, _climate_difference(rule, pairs, "expected_"))
    return np.where(expected & ~np.isnan(present), to_come, present)


def _climate_difference(rule: Rule, pairs: Pairs, period: str) -> Floats:
    if rule is Rule.TEMPERATURE:
        return np.abs(pairs.of_lot("mean_annual_c") - pairs.of_site(f"{period}mean_annual_c"))
    if rule is Rule.FROST:
        milder = pairs.of_lot("coldest_month_min_c") - pairs.of_site(f"{period}coldest_month_min_c")
        return np.maximum(milder, 0.0)
    rain = pairs.of_site(f"{period}annual_rain_mm")
    rain = np.where(rain >= 1, rain, np.nan)  # a share of nothing is none
    return np.abs(pairs.of_lot("annual_rain_mm") - rain) / rain
