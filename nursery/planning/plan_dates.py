"""When each line is sown and planted, when seed for it must be collected, and what else could still be in time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from nursery.planning.arrays import Bools, Dates, Floats, Ints
from nursery.planning.calendars import Schedules, Warmth, schedule_lines
from nursery.planning.months import last_day_in_months, shift_hemisphere
from nursery.planning.plan_inputs import PlanInputs, Protocols

ALL_MONTHS = 0b1111_1111_1111
#: How many seasons ahead the search for the first possible one looks.
SEASONS_AHEAD = 8
Column = TypeVar("Column", Dates, Ints, Bools)
_WEEK = np.timedelta64(7, "D")


@dataclass(frozen=True)
class Dating:
    """Days of each line. ``start`` is the first day of work: pretreatment, or sowing where there is none."""

    plant_on: Dates
    start: Dates
    sow_on: Dates
    ready_on: Dates
    schedules: Schedules
    in_time: Bools


def date_lines(inputs: PlanInputs, row: Ints, plant_on: Dates) -> Dating:
    """Date lines backward from ``plant_on`` by the protocols ``row``.

    Parameters
    ----------
    inputs : PlanInputs
    row : ndarray of int, shape (lines,)
        Protocol rows.
    plant_on : ndarray of datetime64[D], shape (lines,)

    Returns
    -------
    Dating
        ``in_time`` where the first work is today or later.
    """
    protocols = inputs.protocols
    schedules = protocol_schedules(protocols, row, inputs.lines["southern"].to_numpy(), inputs.normals, plant_on)
    sow_at = protocols.sow_at[row]
    start, sow_on = schedules.start[:, 0], schedules.start[np.arange(len(row)), sow_at]
    after_sowing = np.arange(schedules.start.shape[1]) >= sow_at[:, None]
    waited = np.where(after_sowing, schedules.wait_days, 0).sum(axis=1)
    ready_on = plant_on - waited.astype("timedelta64[D]")
    in_time = ~np.isnat(start) & (start >= inputs.today)
    return Dating(plant_on, start, sow_on, ready_on, schedules, in_time)


def protocol_schedules(
    protocols: Protocols, row: Ints, southern: Bools, normals: Floats, plant_on: Dates
) -> Schedules:
    """Phases of the protocols ``row`` backward from ``plant_on``, sowing in their months alone.

    ``southern`` (lines,) shifts the months by six; ``normals`` (lines, 12) are °C of the nursery's months.
    """
    days, sow_at = protocols.days[row], protocols.sow_at[row]
    masks = np.zeros_like(days)
    sowing = protocols.table["sow_mask"].to_numpy()[row]
    masks[np.arange(len(row)), sow_at] = shift_hemisphere(sowing, southern)
    warmth = Warmth(protocols.degree_days[row], protocols.base_c[row], normals)
    return schedule_lines(plant_on, days, masks, warmth)


def choose_days(inputs: PlanInputs, row: Ints) -> Dating:
    """The planting day of each line: the pinned one, else the first of its window for which there is time.

    The window is tried in steps of a week, its last day included. A line for which no day works keeps the dates
    of the first one and is not ``in_time``.
    """
    lines = inputs.lines
    pinned = lines["pinned_day"].to_numpy().astype("datetime64[D]")
    opens = lines["window_open"].to_numpy().astype("datetime64[D]")
    closes = lines["window_close"].to_numpy().astype("datetime64[D]")
    first = np.where(np.isnat(pinned), opens, pinned)
    dating = date_lines(inputs, row, first)
    waiting = np.flatnonzero(~dating.in_time & np.isnat(pinned))
    day = opens.copy()
    while len(waiting):
        waiting = waiting[day[waiting] < closes[waiting]]
        day[waiting] = np.minimum(day[waiting] + _WEEK, closes[waiting])
        trial = date_lines(inputs.only(waiting), row[waiting], day[waiting])
        dating = _put(dating, waiting[trial.in_time], _take(trial, trial.in_time))
        waiting = waiting[~trial.in_time]
    return dating


def _take(dating: Dating, keep: Bools) -> Dating:
    s = dating.schedules
    kept = Schedules(s.start[keep], s.end[keep], s.days[keep], s.wait_days[keep])
    return Dating(
        dating.plant_on[keep],
        dating.start[keep],
        dating.sow_on[keep],
        dating.ready_on[keep],
        kept,
        dating.in_time[keep],
    )


def _put(dating: Dating, at: Ints, found: Dating) -> Dating:
    old, new = dating.schedules, found.schedules
    schedules = Schedules(
        _with(old.start, at, new.start),
        _with(old.end, at, new.end),
        _with(old.days, at, new.days),
        _with(old.wait_days, at, new.wait_days),
    )
    return Dating(
        _with(dating.plant_on, at, found.plant_on),
        _with(dating.start, at, found.start),
        _with(dating.sow_on, at, found.sow_on),
        _with(dating.ready_on, at, found.ready_on),
        schedules,
        _with(dating.in_time, at, found.in_time),
    )


def _with(old: Column, at: Ints, new: Column) -> Column:
    copy = old.copy()
    copy[at] = new
    return copy


@dataclass(frozen=True)
class CollectingSeason:
    """The last collecting season before seed is needed; NaT where a species has none."""

    opens_on: Dates
    closes_on: Dates


def collecting_season(inputs: PlanInputs, row: Ints, need_by: Dates) -> CollectingSeason:
    """Last stretch of collecting months that ends on or before ``need_by``, from today on at the earliest."""
    southern = inputs.lines["southern"].to_numpy()
    mask = shift_hemisphere(inputs.protocols.table["collect_mask"].to_numpy()[row], southern)
    closes = last_day_in_months(need_by, mask)
    others = ALL_MONTHS & ~mask
    gap = last_day_in_months(closes, others)  # the last day before the season on which nothing is ripe
    all_year = others == 0
    opens = np.where(all_year, closes - np.timedelta64(364, "D"), gap + np.timedelta64(1, "D"))
    return CollectingSeason(np.where(closes >= inputs.today, np.maximum(opens, inputs.today), opens), closes)


def years_later(days: Dates, years: int) -> Dates:
    """The same day of a later year; 29 February becomes 1 March."""
    month = days.astype("datetime64[M]")
    later = (month + 12 * years).astype("datetime64[D]") + (days - month.astype("datetime64[D]"))
    return np.asarray(later)
