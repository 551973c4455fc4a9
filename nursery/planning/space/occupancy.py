"""Bench taken week by week: what stands there on any day of a week counts for the whole week, at its largest.

So reckoned, the weeks of two things add up, and a week that is told to fit does fit on each of its days.
Pretreatment in the fridge takes no bench; plants that wait for their planting day do.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Bools, Dates, Floats, Ints
from nursery.planning.growing.words import STAGES, Stage

#: The stage of plants while a phase runs; phases that are not named stand on no bench.
STAGE_OF_PHASE: Mapping[str, Stage] = {
    "emergence": Stage.SOWN,
    "rooting": Stage.SOWN,
    "pricking-out": Stage.EMERGED,
    "growing": Stage.GROWING,
    "hardening": Stage.HARDENING,
}
OFF_BENCH = -1
READY = STAGES.index(Stage.READY)
#: As good as no bench at all, m²: a square centimetre, below what anybody measures.
DUST = 1e-4
_WEEK = 7


@dataclass(frozen=True)
class Spans:
    """Stays on a bench, one row each: what stands, from which day until which (not included), at which stage.

    ``stage`` is a position in `STAGES`, ``ground`` the trays' own ground in m² without spacing.
    """

    item: Ints
    start: Dates
    end: Dates
    stage: Ints
    ground: Floats

    def __len__(self) -> int:
        """Number of stays."""
        return len(self.item)

    def joined(self, other: Spans) -> Spans:
        """Both, one after the other."""
        pairs = zip(_columns(self), _columns(other), strict=True)
        return Spans(*(np.concatenate(pair) for pair in pairs))


def stage_codes(names: ArrayLike) -> Ints:
    """Position in `STAGES` of each phase, `OFF_BENCH` for pretreatment and for no phase."""
    codes = {name: STAGES.index(stage) for name, stage in STAGE_OF_PHASE.items()}
    array = np.asarray(names, dtype=object)
    return np.array([codes.get(name, OFF_BENCH) for name in array.ravel()], np.int64).reshape(array.shape)


def backward_spans(start: Dates, end: Dates, wait_days: Ints, stage: Ints, ground: Floats) -> Spans:
    """Stays of lines whose phases are dated.

    Parameters
    ----------
    start, end, wait_days, stage, ground : ndarray, shape (lines, phases)
        Phases in order of growth, the last in the last column; NaT or a stage of `OFF_BENCH` for none.
        The wait at the end of the last phase is that of ready plants.

    Returns
    -------
    Spans
        ``item`` is the row.
    """
    turn = end.astype("datetime64[D]").copy()
    if start.shape[1]:
        turn[:, -1] = turn[:, -1] - wait_days[:, -1].astype("timedelta64[D]")
    phases = _spans(start, turn, stage, ground)
    if not start.shape[1]:
        return phases
    waits = np.where(stage[:, -1:] == OFF_BENCH, OFF_BENCH, READY)
    return phases.joined(_spans(turn[:, -1:], end[:, -1:], waits, ground[:, -1:]))


def forward_spans(
    since: Dates, days: Ints, stage: Ints, ground: Floats, until: Dates, today: np.datetime64
) -> Spans:
    """Stays of batches that stand already, by the phases still before them.

    Parameters
    ----------
    since : ndarray of datetime64[D], shape (batches,)
        The day each came to its stage.
    days, stage, ground : ndarray, shape (batches, phases)
        Phases ahead in order of growth, of 0 days and `OFF_BENCH` where there is none. The first lasts until today
        at least: the batch has not moved on yet.
    until : ndarray of datetime64[D], shape (batches,)
        The day the plants leave; no batch leaves before it is ready, nor in the past.

    Returns
    -------
    Spans
        From today on; ``item`` is the row. The wait from being ready to leaving is that of ready plants.
    """
    ahead = stage != OFF_BENCH
    first = ahead & (np.cumsum(ahead, axis=1) == 1)
    starts, ends = np.empty(stage.shape, "datetime64[D]"), np.empty(stage.shape, "datetime64[D]")
    day = since.astype("datetime64[D]").copy()
    for phase in range(stage.shape[1]):
        starts[:, phase] = day
        later = day + days[:, phase].astype("timedelta64[D]")
        later = np.where(first[:, phase], np.maximum(later, today), later)
        day = np.where(ahead[:, phase], later, day)
        ends[:, phase] = day
    ready = np.maximum(day, today)
    leaves = np.maximum(until, ready + np.timedelta64(1, "D"))
    all_starts = np.maximum(np.column_stack([starts, ready]), today)
    waits = np.full((len(since), 1), READY)
    last_ground = ground[:, -1:] if stage.shape[1] else np.zeros((len(since), 1))
    return _spans(
        all_starts,
        np.column_stack([ends, leaves]),
        np.hstack([stage, waits]),
        np.hstack([ground, last_ground]),
    )


def weekly(spans: Spans, spacing: Floats, items: int, first: np.datetime64, weeks: int) -> Floats:
    """Bench in m² that each thing takes in each week.

    Parameters
    ----------
    spacing : ndarray, shape (stages,)
        Bench as a multiple of the ground, by stage.
    first : datetime64[D]
        First day of the first week.

    Returns
    -------
    ndarray, shape (items, weeks)
        The largest that it takes on any day of the week.
    """
    taken = np.zeros((items, weeks))
    if not len(spans):
        return taken
    area = spans.ground * spacing[spans.stage]
    begins = (spans.start - first).astype(np.int64) // _WEEK
    ends = ((spans.end - first).astype(np.int64) - 1) // _WEEK
    some = (spans.end > spans.start) & (ends >= 0) & (begins < weeks)
    begins, ends = np.clip(begins[some], 0, weeks - 1), np.clip(ends[some], 0, weeks - 1)
    length = ends - begins + 1
    row = np.repeat(spans.item[some], length)
    within = np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length)
    np.maximum.at(taken, (row, np.repeat(begins, length) + within), np.repeat(area[some], length))
    return taken


def by_place(taken: Floats, place: Ints, places: int) -> Floats:
    """Things added up by where they stand, shape (places, weeks); those of place −1 are nowhere."""
    found = np.zeros((places, taken.shape[1]))
    stands = place >= 0
    np.add.at(found, place[stands], taken[stands])
    return found


def over(taken: Floats, area: ArrayLike) -> Floats:
    """m² too little, shape of ``taken``; nothing where the area (places,) is not known (NaN)."""
    room = np.asarray(area, np.float64)[:, None]
    missing = taken - room
    return np.where(np.isnan(room) | (missing <= DUST), 0.0, missing)


def _spans(start: Dates, end: Dates, stage: Ints, ground: Floats) -> Spans:
    start, end = start.astype("datetime64[D]"), end.astype("datetime64[D]")
    stands: Bools = (stage != OFF_BENCH) & ~np.isnat(start) & ~np.isnat(end) & (end > start)
    item, _column = np.nonzero(stands)
    return Spans(item, start[stands], end[stands], stage[stands], np.broadcast_to(ground, stage.shape)[stands])


def _columns(spans: Spans) -> tuple[np.ndarray, ...]:
    return spans.item, spans.start, spans.end, spans.stage, spans.ground
