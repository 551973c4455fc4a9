"""Sets of months as 12-bit masks (bit 0 is January; 0 means any month), and dates held to them."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Bools, Dates, Ints

ANY = 0
_ALL = 0b1111_1111_1111


def mask_of(months: Iterable[int]) -> int:
    """The mask of months numbered 1–12; of none, `ANY`. Raises ValueError outside 1–12."""
    mask = 0
    for month in months:
        if not 1 <= month <= 12:
            raise ValueError(f"months run from 1 to 12, not {month}")
        mask |= 1 << (month - 1)
    return mask


def months_of(mask: int) -> list[int]:
    """Months 1–12 of a mask, in order; all twelve for `ANY`."""
    return [month for month in range(1, 13) if not mask or mask >> (month - 1) & 1]


def shift_hemisphere(mask: ArrayLike, southern: ArrayLike = True) -> Ints:
    """Move months by six where ``southern``: March becomes September. Masks broadcast with the flags."""
    masks = _masks(mask)
    return np.where(southern, (masks << 6 | masks >> 6) & _ALL, masks)


def month_numbers(dates: Dates) -> Ints:
    """Month 0–11 of each date (datetime64[D], no NaT)."""
    return dates.astype("datetime64[M]").astype(np.int64) % 12


def in_months(dates: ArrayLike, mask: ArrayLike) -> Bools:
    """Whether each date lies in its mask's months."""
    days, masks = np.asarray(dates, "datetime64[D]"), _masks(mask)
    return np.asarray((masks == ANY) | ((masks >> month_numbers(days)) & 1 == 1), dtype=np.bool_)


def last_day_in_months(before: ArrayLike, mask: ArrayLike) -> Dates:
    """Latest day on or before a date that lies in the allowed months.

    Parameters
    ----------
    before : array_like of datetime64[D]
        Latest day that will do; NaT stays NaT.
    mask : array_like of int
        12-bit masks, 0 for any month; broadcasts with ``before``.

    Raises
    ------
    ValueError
        For a mask outside 0–4095.
    """
    return _nearest(before, mask, -1)


def next_day_in_months(after: ArrayLike, mask: ArrayLike) -> Dates:
    """Earliest day on or after a date that lies in the allowed months; as `last_day_in_months`, forward."""
    return _nearest(after, mask, 1)


def _nearest(day: ArrayLike, mask: ArrayLike, step: int) -> Dates:
    days, masks = np.broadcast_arrays(np.asarray(day, "datetime64[D]"), _masks(mask))
    known = np.where(np.isnat(days), np.datetime64(0, "D"), days)
    first = known.astype("datetime64[M]")
    found = np.where(in_months(known, masks), known, np.datetime64("NaT", "D"))
    for offset in range(1, 12):
        month = first + step * offset
        edge = month.astype("datetime64[D]") if step > 0 else (month + 1).astype("datetime64[D]") - 1
        found = np.where(np.isnat(found) & in_months(edge, masks), edge, found)
    return np.where(np.isnat(days), np.datetime64("NaT", "D"), found)


def _masks(mask: ArrayLike) -> Ints:
    masks = np.asarray(mask).astype(np.int64)
    if np.any((masks < 0) | (masks > _ALL)):
        raise ValueError("a month mask must lie between 0 and 4095")
    return masks
