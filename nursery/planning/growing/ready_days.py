"""The day on which a batch will be ready: the phases still before it, one after the other from its stage's day."""

from __future__ import annotations

import numpy as np

from nursery.planning.arrays import Dates, Floats, Ints
from nursery.planning.degree_days import NEVER, days_until_degree_days
from nursery.planning.growing.words import STAGES, Stage

#: Phases that lie behind a batch of each stage; common practice, no source.
BEHIND: dict[Stage, frozenset[str]] = {
    Stage.SOWN: frozenset(),
    Stage.EMERGED: frozenset({"emergence", "rooting"}),
    Stage.GROWING: frozenset({"emergence", "rooting", "pricking-out"}),
    Stage.HARDENING: frozenset({"emergence", "rooting", "pricking-out", "growing"}),
    Stage.READY: frozenset({"emergence", "rooting", "pricking-out", "growing", "hardening"}),
}


def is_ahead(stage: int, phase: str) -> bool:
    """Whether the phase is still before a batch at that position of `STAGES`."""
    return phase not in BEHIND[STAGES[stage]]


def ready_days(since: Dates, days: Ints, degree_days: Floats, base_c: Floats, monthly_mean_c: Floats) -> Dates:
    """Follow phases forward.

    Parameters
    ----------
    since : ndarray of datetime64[D], shape (batches,)
        The day each batch came to its stage.
    days, degree_days, base_c : ndarray, shape (batches, phases)
        Phases still ahead, in order of growth, 0 for one that is not; a sum of degree-days replaces the days.
    monthly_mean_c : ndarray, shape (batches, 12)
        The nursery's normals.

    Returns
    -------
    ndarray of datetime64[D]
        NaT where warmth never suffices.
    """
    day = since.astype("datetime64[D]").copy()
    for phase in range(days.shape[1]):
        warm = np.flatnonzero((degree_days[:, phase] > 0) & ~np.isnat(day))
        length = days[:, phase].astype(np.int64)
        if warm.size:
            length[warm] = days_until_degree_days(
                day[warm], degree_days[warm, phase], base_c[warm, phase], monthly_mean_c[warm]
            )
        day = np.where(length == NEVER, np.datetime64("NaT", "D"), day + np.maximum(length, 0))
    return day
