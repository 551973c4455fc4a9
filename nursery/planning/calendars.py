"""Backward schedules: from the planting day back through hardening, growing and pretreatment."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Dates, Floats, Ints, counts
from nursery.planning.degree_days import NEVER, days_for_degree_days, days_until_degree_days
from nursery.planning.months import last_day_in_months, mask_of

_NAT = np.datetime64("NaT", "D")


@dataclass(frozen=True)
class Schedules:
    """Lines × phases. ``start`` + ``days`` + ``wait_days`` = ``end``; NaT where warmth never suffices."""

    start: Dates
    end: Dates
    days: Ints
    wait_days: Ints


@dataclass(frozen=True)
class Phase:
    """One phase in order of growth; ``months`` (1–12) in which it may start, none for any."""

    name: str
    days: int
    months: tuple[int, ...] = ()


@dataclass(frozen=True)
class DatedPhase:
    """A phase with its days; it waits ``wait_days`` at its end for the next one."""

    name: str
    start: dt.date
    end: dt.date
    wait_days: int


@dataclass(frozen=True)
class Warmth:
    """Phases measured in degree-days: where the sum is above 0 it replaces the phase's days.

    ``degree_days`` and ``base_c`` broadcast to lines × phases, ``monthly_mean_c`` to lines × 12.
    """

    degree_days: ArrayLike
    base_c: ArrayLike
    monthly_mean_c: ArrayLike


def schedule_lines(
    plant_on: ArrayLike, days: ArrayLike, months: ArrayLike = 0, warmth: Warmth | None = None
) -> Schedules:
    """Date all phases of all lines backward from the planting day.

    Parameters
    ----------
    plant_on : array_like of datetime64[D], shape (lines,)
        Day on which the last phase ends.
    days : array_like of int, shape (lines, phases) or (phases,)
        Duration of each phase in order of growth; 0 for a phase that a line does not have.
    months : array_like of int, same shape or scalar
        12-bit masks of the months in which a phase may start, 0 for any (see `months.mask_of`).
    warmth : Warmth, optional
        Phases whose duration is a sum of degree-days.

    Returns
    -------
    Schedules
        Each phase ends when the next begins and starts on the latest day in its months that still lets it
        finish; what is left over is its ``wait_days``.

    Raises
    ------
    ValueError
        For negative or broken durations and masks outside 0–4095.
    """
    last = np.atleast_1d(np.asarray(plant_on, "datetime64[D]"))
    fixed, masks = np.broadcast_arrays(counts("days", days), np.asarray(months))
    shape = np.broadcast_shapes((len(last), 1), fixed.shape)
    fixed, masks = np.broadcast_to(fixed, shape), np.broadcast_to(masks, shape)
    starts, ends = np.empty(shape, "datetime64[D]"), np.empty(shape, "datetime64[D]")
    lengths, waits = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
    sums, base, normals = _warmth(warmth, shape)
    end = np.broadcast_to(last, shape[:1])
    for phase in reversed(range(shape[1])):
        warm = sums[:, phase] > 0
        length = fixed[:, phase].copy()
        length[warm] = days_for_degree_days(end[warm], sums[warm, phase], base[warm, phase], normals[warm])
        fits = np.where(length == NEVER, _NAT, end - np.maximum(length, 0))
        start = last_day_in_months(fits, masks[:, phase])
        early = warm & (start < fits)
        length[early] = days_until_degree_days(
            start[early], sums[early, phase], base[early, phase], normals[early]
        )
        dated = ~np.isnat(start)
        starts[:, phase], ends[:, phase], lengths[:, phase] = start, end, np.where(dated, length, 0)
        waits[dated, phase] = (end - start)[dated].astype(np.int64) - length[dated]
        end = start
    return Schedules(starts, ends, lengths, waits)


def schedule(plant_on: dt.date, phases: Iterable[Phase]) -> list[DatedPhase]:
    """Date one line's phases (see `schedule_lines`).

    Parameters
    ----------
    plant_on : datetime.date
        Day on which the last phase ends.
    phases : iterable of Phase
        In order of growth.

    Raises
    ------
    ValueError
        For negative durations and months outside 1–12.
    """
    listed: Sequence[Phase] = list(phases)
    dated = schedule_lines(
        np.datetime64(plant_on, "D"),
        np.array([phase.days for phase in listed], np.int64),
        np.array([mask_of(phase.months) for phase in listed], np.int64),
    )
    rows = zip(listed, dated.start[0].tolist(), dated.end[0].tolist(), dated.wait_days[0].tolist(), strict=True)
    return [DatedPhase(phase.name, start, end, wait) for phase, start, end, wait in rows]


def _warmth(warmth: Warmth | None, shape: tuple[int, ...]) -> tuple[Floats, Floats, Floats]:
    if warmth is None:
        return np.zeros(shape), np.zeros(shape), np.zeros((shape[0], 12))
    return (
        np.broadcast_to(np.asarray(warmth.degree_days, np.float64), shape),
        np.broadcast_to(np.asarray(warmth.base_c, np.float64), shape),
        np.broadcast_to(np.asarray(warmth.monthly_mean_c, np.float64), (shape[0], 12)),
    )
