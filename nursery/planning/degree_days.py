"""Growing measured in degree-days above a base, over a place's twelve monthly normals.

Method: every day takes the normal mean of its month and gives max(0, mean − base). The sum over a whole month
is then days × (mean − base), which anyone can check by hand; common practice, no source. Warm days inside a
month whose mean is below the base are not counted.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Dates, Floats, Ints, amount
from nursery.planning.months import month_numbers
from nursery.planning.rounding import SLACK

#: Answer where the sum is not reached within `HORIZON_MONTHS`.
NEVER = -1
HORIZON_MONTHS = 120


def days_for_degree_days(
    end: ArrayLike, degree_days: ArrayLike, base_c: ArrayLike, monthly_mean_c: ArrayLike
) -> Ints:
    """Fewest days before ``end`` that together give the degree-days: the start is ``end`` − days.

    Parameters
    ----------
    end : array_like of datetime64[D]
        Day on which growing must be over; that day itself does not count.
    degree_days : array_like
        Sum to reach, °C·d, 0 or more.
    base_c : array_like
        Base temperature, °C.
    monthly_mean_c : array_like, shape (..., 12)
        Mean temperature of January … December, °C; leading shape broadcasts with the rest.

    Returns
    -------
    ndarray of int64
        Days, or `NEVER` where ten years do not reach the sum, and where ``end`` is NaT.

    Raises
    ------
    ValueError
        For a negative or missing sum, or normals that are not twelve.
    """
    return _days(end, degree_days, base_c, monthly_mean_c, back=True)


def days_until_degree_days(
    start: ArrayLike, degree_days: ArrayLike, base_c: ArrayLike, monthly_mean_c: ArrayLike
) -> Ints:
    """Fewest days from ``start`` (which counts) on that together give the degree-days; see above."""
    return _days(start, degree_days, base_c, monthly_mean_c, back=False)


def _days(day: ArrayLike, degree_days: ArrayLike, base: ArrayLike, means: ArrayLike, *, back: bool) -> Ints:
    normals = np.asarray(means, dtype=np.float64)
    if normals.shape[-1:] != (12,) or np.any(np.isnan(normals)):
        raise ValueError("monthly_mean_c must hold twelve temperatures")
    heat = np.maximum(normals - np.asarray(base, dtype=np.float64)[..., None], 0.0)
    days = np.asarray(day, "datetime64[D]")
    wanted = amount("degree_days", degree_days)
    shape = np.broadcast_shapes(days.shape, wanted.shape, heat.shape[:-1])
    days, wanted = np.broadcast_to(days, shape).ravel(), np.broadcast_to(wanted, shape).ravel()
    heat = np.broadcast_to(heat, (*shape, 12)).reshape(-1, 12)
    known = ~np.isnat(days)
    found = np.full(days.shape, NEVER, dtype=np.int64)
    found[known] = _walk(days[known], wanted[known], heat[known], back=back)
    return found.reshape(shape)


def _walk(days: Dates, wanted: Floats, heat: Floats, *, back: bool) -> Ints:
    """Month by month away from each day, until what is still wanted fits into the month."""
    rows = np.arange(len(days))
    cursor, passed, left = days.copy(), np.zeros(len(days), np.int64), wanted.copy()
    found = np.where(wanted <= SLACK, 0, NEVER)
    for _ in range(HORIZON_MONTHS):
        if np.all(found != NEVER):
            break
        month = (cursor - 1 if back else cursor).astype("datetime64[M]")
        edge = (month if back else month + 1).astype("datetime64[D]")
        length = np.abs((cursor - edge).astype(np.int64))
        daily = heat[rows, month_numbers(month.astype("datetime64[D]"))]
        needed = np.ceil(np.divide(left, daily, out=np.full(len(days), np.inf), where=daily > 0) - SLACK)
        here = (found == NEVER) & (needed <= length)
        found[here] = passed[here] + needed[here].astype(np.int64)
        cursor, passed, left = edge, passed + length, left - length * daily
    return found
