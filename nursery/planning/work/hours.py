"""Hours of work by week, hours that people have, and what would help in weeks that ask for more.

Weeks begin on Monday. Work and people's hours are spread over working days, Monday to Friday; work that falls on a
weekend only is done on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Dates, Floats, Ints

#: Hours below this are rounding, not work.
TRIFLE = 1e-6


def weeks_from(day: np.datetime64, count: int) -> Dates:
    """Mondays of ``count`` weeks, the first being that of ``day``."""
    days = day.astype("datetime64[D]").astype(np.int64)
    return np.asarray(days - (days + 3) % 7 + 7 * np.arange(count), "datetime64[D]")


def spread(start: ArrayLike, end: ArrayLike, hours: ArrayLike, weeks: Dates) -> Floats:
    """Hours of each piece of work in each week.

    Parameters
    ----------
    start, end : array_like of datetime64[D]
        First and last day, shape (pieces,); a piece of one day has both equal.
    hours : array_like
        Of the whole piece.
    weeks : ndarray
        Mondays, from `weeks_from`.

    Returns
    -------
    ndarray
        Shape (pieces, weeks). What lies outside the weeks is in none.

    Raises
    ------
    ValueError
        Where work ends before it starts, or hours are below zero.
    """
    first, last = _days(start), _days(end)
    amount = np.asarray(hours, np.float64)
    if np.any(last < first) or np.any(~(amount >= 0)):
        raise ValueError("work ends before it starts, or takes less than no time")
    length = np.busday_count(first, last + 1)
    weekend = (length == 0)[:, None]
    begin = np.maximum(first[:, None], weeks)
    stop = np.maximum(np.minimum(last[:, None] + 1, weeks + 7), begin)
    inside = np.where(weekend, (stop - begin).astype(np.int64), np.busday_count(begin, stop))
    whole = np.where(length == 0, (last - first).astype(np.int64) + 1, length)
    return np.asarray(inside * (amount / whole)[:, None])


def people_hours(hours_per_week: ArrayLike, from_on: ArrayLike, until_on: ArrayLike, weeks: Dates) -> Floats:
    """Hours that each person has in each week, shape (people, weeks).

    ``from_on`` and ``until_on`` are the first and last day of working here, NaT where open. A week
    begun or ended in the middle counts by its working days.
    """
    first, last = _days(from_on)[:, None], _days(until_on)[:, None]
    begin = np.where(np.isnat(first), weeks, np.maximum(first, weeks))
    stop = np.where(np.isnat(last), weeks + 5, np.minimum(last + 1, weeks + 5))
    days = np.busday_count(begin, np.maximum(stop, begin))
    return np.asarray(np.asarray(hours_per_week, np.float64)[:, None] * days / 5)


@dataclass(frozen=True, slots=True)
class Move:
    """A piece of work that may be done in a later week."""

    piece: int
    from_week: int
    to_week: int
    hours: float


@dataclass(frozen=True, slots=True)
class Relief:
    """Pieces that may wait, and by week the hours that are lacking even then."""

    moves: Sequence[Move]
    lacking: Floats


def relieve(load: Floats, capacity: Floats, last_week: Ints) -> Relief:
    """What may be moved out of weeks that ask for more than there is.

    Parameters
    ----------
    load : ndarray
        Hours of each piece in each week, shape (pieces, weeks).
    capacity : ndarray
        Hours that people have, shape (weeks,).
    last_week : ndarray of int
        The last week in which each piece may still be done; its own week (or less) where it cannot wait.

    Returns
    -------
    Relief
        Weeks in order; of what may wait the longest pieces go first, each whole, to the next week that has
        room for it. Work that lasts over several weeks stays where it is.
    """
    needed, moves = load.sum(axis=0), []
    alone = (load > TRIFLE).sum(axis=1) == 1
    for week in np.flatnonzero(needed > capacity + TRIFLE).tolist():
        may = np.flatnonzero(alone & (load[:, week] > TRIFLE) & (last_week > week))
        for piece in may[np.argsort(-load[may, week], kind="stable")].tolist():
            excess, hours = needed[week] - capacity[week], load[piece, week]
            if excess <= TRIFLE:
                break
            later = np.arange(week + 1, min(int(last_week[piece]) + 1, len(needed)))
            room = later[needed[later] + hours <= capacity[later] + TRIFLE]
            if len(room):
                needed[week] -= hours
                needed[room[0]] += hours
                moves.append(Move(piece, week, int(room[0]), float(hours)))
    return Relief(moves, np.maximum(needed - capacity, 0.0))


def _days(values: ArrayLike) -> Dates:
    return np.atleast_1d(np.asarray(values, "datetime64[D]"))
