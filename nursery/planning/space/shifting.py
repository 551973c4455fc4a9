"""Other planting days of plan lines, week by week inside what is allowed, and the bench each would take."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Bools, Dates, Floats, Ints
from nursery.planning.plan_dates import protocol_schedules
from nursery.planning.plan_inputs import Protocols
from nursery.planning.space.occupancy import backward_spans, stage_codes, weekly

_WEEK = 7
_PRICKING_OUT = "pricking-out"


@dataclass(frozen=True)
class Shiftable:
    """Plan lines that may be planted on another day, one row each.

    ``line``: whatever number the caller knows it by. ``opens``, ``closes``: the site's window. ``seed_from``: when
    seed that must still be collected is there (NaT where it is in hand). ``seed_until``: the last day on which it
    is worth sowing (NaT where nothing limits it). ``tray_m2``: ground of all its trays; ``flats_m2``: of its flats
    before seedlings are pricked out, NaN where it has none.
    """

    line: Ints
    protocol_row: Ints
    southern: Bools
    normals: Floats
    plant_on: Dates
    opens: Dates
    closes: Dates
    seed_from: Dates
    seed_until: Dates
    tray_m2: Floats
    flats_m2: Floats


@dataclass(frozen=True)
class Shifts:
    """Other days, one row each: of which line, by how many days, sown and planted when, and its bench by week."""

    line: Ints
    days: Ints
    sow_on: Dates
    plant_on: Dates
    use: Floats


def possible_shifts(
    lines: Shiftable,
    protocols: Protocols,
    spacing: Floats,
    *,
    today: np.datetime64,
    first: np.datetime64,
    weeks: int,
) -> Shifts:
    """All planting days a whole number of weeks from the present one that keep every rule.

    The planting day lies in the site's window; sowing in the protocol's months (so the schedule is made); no work
    lies in the past; seed is there when work begins and still worth sowing.
    """
    row, shift = _weeks_within(lines.plant_on, lines.opens, lines.closes)
    plant_on = lines.plant_on[row] + shift * _WEEK
    protocol = lines.protocol_row[row]
    dated = protocol_schedules(protocols, protocol, lines.southern[row], lines.normals[row], plant_on)
    start, sow_on = dated.start[:, 0], dated.start[np.arange(len(row)), protocols.sow_at[protocol]]
    in_time = ~np.isnat(start) & (start >= today)
    seed_from, seed_until = lines.seed_from[row], lines.seed_until[row]
    in_time &= (np.isnat(seed_from) | (start >= seed_from)) & (np.isnat(seed_until) | (sow_on <= seed_until))
    stage = stage_codes(_names(protocols))[protocol]
    ground = _ground(lines, row, protocols, protocol)
    keep = np.flatnonzero(in_time)
    spans = backward_spans(dated.start[keep], dated.end[keep], dated.wait_days[keep], stage[keep], ground[keep])
    use = weekly(spans, spacing, len(keep), first, weeks)
    return Shifts(lines.line[row[keep]], shift[keep] * _WEEK, sow_on[keep], plant_on[keep], use)


def _weeks_within(day: Dates, opens: Dates, closes: Dates) -> tuple[Ints, Ints]:
    """Row, and weeks from its day, of all days inside its window but the day itself."""
    least = -((day - opens).astype(np.int64) // _WEEK)
    most = (closes - day).astype(np.int64) // _WEEK
    length = np.maximum(most - least + 1, 0)
    row = np.repeat(np.arange(len(day)), length)
    within = np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length)
    shift = within + np.repeat(least, length)
    return row[shift != 0], shift[shift != 0]


def _ground(lines: Shiftable, row: Ints, protocols: Protocols, protocol: Ints) -> Floats:
    """Ground by option and phase: flats until seedlings are pricked out, where there are any."""
    names = _names(protocols)
    pricked = names == _PRICKING_OUT
    turn = np.where(pricked.any(axis=1), pricked.argmax(axis=1), -1)[protocol]
    early = np.arange(names.shape[1]) <= turn[:, None]
    flats = lines.flats_m2[row][:, None]
    return np.where(early & ~np.isnan(flats), flats, lines.tray_m2[row][:, None])


def _names(protocols: Protocols) -> np.ndarray:
    return np.array(protocols.names, dtype=object).reshape(protocols.days.shape)
