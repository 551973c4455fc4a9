"""What a late task does to those behind it, and to its season."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from nursery.planning.arrays import Dates, Ints

_DAY = np.timedelta64(1, "D")


def follow(planned: Dates, moved: Dates, settled: Dates, after: Ints, gap_days: Ints) -> Dates:
    """The day on which each task is due.

    A task is due on its planned day, or on the one a person moved it to; never sooner than ``gap_days`` after the
    task that must be done before. What waits between two tasks takes up a slip, so that it may end there.

    Parameters
    ----------
    planned, moved : ndarray of datetime64[D], shape (tasks,)
        The plan's day, and a person's (NaT for none), which stands in its place.
    settled : ndarray of datetime64[D], shape (tasks,)
        The day on which a task was done, or dealt with; NaT while it is open.
    after : ndarray of int, shape (tasks,)
        Row of the task before, −1 for none.
    gap_days : ndarray of int, shape (tasks,)

    Raises
    ------
    ValueError
        Where tasks wait for each other in a ring.
    """
    base = np.where(np.isnat(moved), planned, moved)
    has = after >= 0
    before, gap = np.where(has, after, 0), gap_days * _DAY
    due = np.where(np.isnat(settled), base, settled)
    for _pass in range(len(due) + 1):
        earliest = np.where(has, due[before] + gap, base)
        found = np.where(np.isnat(settled), np.maximum(base, earliest), settled)
        if np.array_equal(found, due):
            return np.asarray(due, "datetime64[D]")
        due = found
    raise ValueError("tasks wait for each other in a ring")


class Cost(StrEnum):
    """What a slip costs the season."""

    NOTHING = "nothing"
    IN_WINDOW = "in-window"
    SOWING_LATE = "sowing-late"
    PLANTING_LATE = "planting-late"


@dataclass(frozen=True, slots=True)
class Season:
    """A target's planting before and after a slip; None where it has no such task, or nothing bounds it."""

    planting_before: dt.date
    planting_after: dt.date
    closes: dt.date | None
    sowing_after: dt.date | None = None
    sowing_latest: dt.date | None = None

    @property
    def cost(self) -> Cost:
        """The worst of it: a planting past its window, then a sowing past its months."""
        if self.closes is not None and self.planting_after > self.closes:
            return Cost.PLANTING_LATE
        late = self.sowing_after is not None and self.sowing_latest is not None
        if late and self.sowing_after > self.sowing_latest:  # type: ignore[operator]
            return Cost.SOWING_LATE
        return Cost.IN_WINDOW if self.planting_after > self.planting_before else Cost.NOTHING
