"""Levelling of an ordinary season and of five thousand lines, beside one linear answer over the same weeks."""

from __future__ import annotations

import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from nursery.planning.arrays import Floats
from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.space.choices import Areas, Options, Things
from nursery.planning.space.levelling import level
from nursery.planning.space.levelling_model import Model
from nursery.planning.space.levelling_search import PRIORITIES
from nursery.planning.space.occupancy import Spans, weekly

SEED, WEEKS, NURSERIES, SHIFTS = 20261125, 104, 4, 17
FIRST = np.datetime64("2026-11-23", "D")
#: Area as a share of the fullest week.
ROOM = 0.97


def run() -> None:
    """Print times, what was done, and the ratio to the linear answer."""
    _time(80)
    _time(5_000)


def _time(lines: int) -> None:
    things, options, areas = _problem(lines)
    began = time.perf_counter()
    found = level(things, options, areas, seconds=60.0)
    seconds = time.perf_counter() - began
    linear = _linear(Model(things, options, areas, *np.nonzero(found.over_before > 0)))
    shifted = int(((found.trays > 0) & (options.days != 0)).sum())
    print(
        f"levelling, {lines} lines × {SHIFTS} planting days in {NURSERIES} nurseries: {seconds:.1f} s,"
        f" {seconds / linear:.1f} × one linear answer over all weeks too full; {shifted} shifted,"
        f" {int(found.dropped.sum())} without room, {found.over_after.sum():.1f} m² × weeks left of"
        f" {found.over_before.sum():.0f}; known to within {found.gap:.1%} of the least"
    )


def _linear(model: Model) -> float:
    matrix, low, high = model.rows()
    losses = sum(model.cost_of_dropping(priority) for priority in PRIORITIES)
    began = time.perf_counter()
    milp(
        model.cost_of_shifting() + 1e4 * losses + 1e6 * model.cost_of_overflow(),
        constraints=LinearConstraint(matrix, low, high),
        bounds=Bounds(np.zeros(model.size), model.upper()),
        options={"time_limit": 600.0},
    )
    return time.perf_counter() - began


def _problem(lines: int) -> tuple[Things, Options, Areas]:
    """Lines that can wait for up to sixteen weeks; for ten of them their sowing waits too."""
    dice = np.random.default_rng(SEED)
    trays = dice.integers(4, 60, lines)
    things = Things(trays, trays * 30, dice.integers(1, 6, lines))
    start, length = dice.integers(4, 40, lines) * 7, dice.integers(25, 45, lines) * 7
    thing = np.repeat(np.arange(lines), SHIFTS)
    days = np.tile(np.arange(SHIFTS) * 7, lines)
    sown = start[thing] + np.minimum(days, 70)
    spans = Spans(
        np.arange(len(thing)), FIRST + sown, FIRST + start[thing] + length[thing] + days,
        np.full(len(thing), STAGES.index(Stage.GROWING)), trays[thing] * 0.16,
    )  # fmt: skip
    use = weekly(spans, np.full(len(STAGES), 1.25), len(thing), FIRST, WEEKS)
    place = dice.integers(0, NURSERIES, lines)[thing]
    options = Options(thing, days, place, days == 0, use)
    standing: Floats = np.zeros((NURSERIES, WEEKS))
    everywhere = Areas(np.eye(NURSERIES, dtype=np.bool_), np.full(NURSERIES, np.inf), standing)
    fullest = everywhere.taken(options, (days == 0).astype(np.float64)).max(axis=1)
    return things, options, Areas(everywhere.member, fullest * ROOM, standing)
