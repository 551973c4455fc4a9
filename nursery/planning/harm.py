"""Seed that its storage has killed: recalcitrant seed that froze or dried.

Such seed dies when it freezes or dries (the definition of the class), and a test from before tells nothing of what
is left. That it counts as dead until a later test says otherwise is common practice, no source.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Bools

#: Below this ice forms in moist seed, °C; common practice, no source. The catalogue's words for acorns are
#: “never frozen”.
FREEZING_C = -1.0
#: Moisture content of cork oak acorns below which germination falls strongly, % of fresh weight: Merouani and
#: others 2001 (abstract). Other recalcitrant seed differs: laurel dies below 15 % (Konstantinidou and others
#: 2008).
MOIST_PCT = 30.0


class Harm(StrEnum):
    """What killed the seed."""

    NONE = ""
    FROZEN = "frozen"
    DRIED = "dried"
    #: It was in a place that kills, and has been moved since.
    BEFORE = "before"


def freezes(recalcitrant: ArrayLike, temperature_c: ArrayLike) -> Bools:
    """Whether seed dies of the cold of its place; an unknown temperature (NaN) kills nothing."""
    return np.asarray(recalcitrant, np.bool_) & (np.asarray(temperature_c, np.float64) < FREEZING_C)


def dries(recalcitrant: ArrayLike, moisture_pct: ArrayLike) -> Bools:
    """Whether seed dies of being too dry; an unknown moisture (NaN) kills nothing."""
    return np.asarray(recalcitrant, np.bool_) & (np.asarray(moisture_pct, np.float64) < MOIST_PCT)


def harm_of(
    recalcitrant: ArrayLike,
    *,
    temperature_c: ArrayLike,
    moisture_pct: ArrayLike,
    stored_on: ArrayLike,
    moisture_on: ArrayLike,
    harmed_on: ArrayLike,
    proven_on: ArrayLike,
) -> np.ndarray:
    """What killed each lot, unless a test from afterwards found living seed.

    Parameters
    ----------
    recalcitrant : array_like of bool, shape (lots,)
        Whether the seed is of the recalcitrant class; cuttings are not.
    temperature_c, moisture_pct : array_like, shape (lots,)
        Of the place, °C, and of the seed, % of fresh weight; NaN where unknown.
    stored_on, moisture_on : array_like of datetime64[D], shape (lots,)
        Day on which the seed was put into its place, and on which its moisture was measured; both known.
    harmed_on : array_like of datetime64[D], shape (lots,)
        Last day in a place, since left, that kills such seed; NaT where it was in none.
    proven_on : array_like of datetime64[D], shape (lots,)
        Day of the newest test that found living seed; NaT where there is none.

    Returns
    -------
    ndarray of str, shape (lots,)
        Values of `Harm`; a test on the very day does not count, for it may be from before.
    """
    proven = np.asarray(proven_on, "datetime64[D]")
    causes = (
        (Harm.FROZEN, freezes(recalcitrant, temperature_c), np.asarray(stored_on, "datetime64[D]")),
        (Harm.DRIED, dries(recalcitrant, moisture_pct), np.asarray(moisture_on, "datetime64[D]")),
        (Harm.BEFORE, np.asarray(recalcitrant, np.bool_), np.asarray(harmed_on, "datetime64[D]")),
    )
    found = np.full(np.shape(proven), "", dtype=object)
    for cause, here, since in reversed(causes):
        # Nothing compares with a day that is not there: no harm without a day, no proof without a test.
        found[here & ~np.isnat(since) & ~(proven > since)] = cause.value
    return found
