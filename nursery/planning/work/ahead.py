"""Phases that are still ahead of a batch, dated forward from the day on which it came to its stage."""

from __future__ import annotations

import numpy as np

from nursery.planning.arrays import Dates, Floats, Ints
from nursery.planning.degree_days import NEVER, days_until_degree_days


def date_ahead(since: Dates, days: Ints, degree_days: Floats, base_c: Floats, monthly_mean_c: Floats) -> Dates:
    """The first day of each phase, and behind them the day on which the last one ends.

    Parameters
    ----------
    since : ndarray of datetime64[D], shape (batches,)
    days, degree_days, base_c : ndarray, shape (batches, phases)
        In order of growth, 0 for a phase that a batch does not have; a sum of degree-days replaces the days.
    monthly_mean_c : ndarray, shape (batches, 12)
        The nursery's normals.

    Returns
    -------
    ndarray of datetime64[D], shape (batches, phases + 1)
        NaT from where warmth never suffices.
    """
    found = np.empty((len(since), days.shape[1] + 1), "datetime64[D]")
    day = since.astype("datetime64[D]")
    found[:, 0] = day
    for phase in range(days.shape[1]):
        length = days[:, phase].astype(np.int64)
        warm = np.flatnonzero((degree_days[:, phase] > 0) & ~np.isnat(day))
        if warm.size:
            length[warm] = days_until_degree_days(
                day[warm], degree_days[warm, phase], base_c[warm, phase], monthly_mean_c[warm]
            )
        day = np.where(length == NEVER, np.datetime64("NaT", "D"), day + np.maximum(length, 0))
        found[:, phase + 1] = day
    return found
