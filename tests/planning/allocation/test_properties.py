"""What holds of every allocation."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nursery.planning.allocation import Holdings, Pairs, Problem, Progress, allocate
from tests.planning.allocation.cases import (
    by_line,
    by_turn,
    holdings,
    levels,
    needs,
    pairs,
    problem,
    seeds_taken,
    shuffled,
    together,
)

bounded = settings(max_examples=8, deadline=None, derandomize=True)
chance = st.integers(0, 10_000).map(np.random.default_rng)

#: What rows may slip by, in parts of the need or the lot: the solver's own precision.
NEAR = 1e-5


def season(rng: np.random.Generator, lines: int = 7, lots: int = 7) -> Problem:
    """A random small season with every kind of wish, pin and plan in force."""
    line, lot = np.nonzero(rng.random((lines, lots)) < 0.4)
    count = line.size
    mixed = rng.random(lines) < 0.3
    need = rng.integers(20, 400, lines)
    mothers = rng.integers(3, 60, lots).astype(float)
    shares = np.full((lines, 4), np.nan)
    shares[mixed] = [0.6, 0.3, 0.1, 0.0]
    return Problem(
        needs(
            need.tolist(),
            turn=rng.integers(1, 4, lines).tolist(),
            shares=shares,
            least_populations=np.where(mixed, 2, 1),
            population_cap=np.where(mixed, 0.6, np.nan),
            family_cap=np.where(mixed, 0.1, np.nan),
            least_mothers=np.where(mixed, 30.0, np.nan),
        ),
        holdings(
            rng.integers(50, 900, lots).tolist(),
            population=rng.integers(0, 4, lots).tolist(),
            mothers=mothers.tolist(),
            family=(1 / mothers).tolist(),
        ),
        pairs(
            line.tolist(), lot.tolist(),
            plants_per_seed=rng.uniform(0.2, 0.8, count), least=np.minimum(40.0, need[line] * 0.1),
            source=rng.integers(0, 3, count), cautions=rng.integers(0, 3, count),
            perishable=rng.random(count) < 0.2, distance_m=rng.uniform(0, 1e5, count),
            pinned=np.where(rng.random(count) < 0.1, need[line] * 0.3, 0.0),
            before=np.where(rng.random(count) < 0.2, need[line] * 0.5, 0.0),
        ),
    )  # fmt: skip


@bounded
@given(chance)
def test_no_lot_gives_more_than_it_holds_and_no_line_gets_more_than_it_needs(rng: np.random.Generator) -> None:
    case = season(rng)
    plants = allocate(case, workers=1).plants

    assert np.all(plants >= 0)
    assert np.all(seeds_taken(case, plants) <= case.holdings.seeds * (1 + NEAR))
    assert np.all(by_line(case, plants) <= case.needs.plants * (1 + NEAR))


@bounded
@given(chance)
def test_a_draw_is_at_least_its_least_or_pinned(rng: np.random.Generator) -> None:
    case = season(rng)
    plants = allocate(case, workers=1).plants

    drawn = (plants > 0) & (case.pairs.pinned == 0)
    assert np.all(plants[drawn] >= case.pairs.least[drawn] * (1 - 1e-4))


@bounded
@given(chance)
def test_the_same_problem_has_the_same_answer_by_one_worker_or_three(rng: np.random.Generator) -> None:
    case = season(rng)

    assert allocate(case, workers=1).plants.tolist() == allocate(case, workers=3).plants.tolist()


@bounded
@given(chance, chance)
def test_problems_that_share_nothing_are_solved_together_as_they_are_apart(
    one: np.random.Generator, other: np.random.Generator
) -> None:
    first, second = season(one, 5, 5), season(other, 5, 5)

    both = allocate(together(first, second), workers=1).plants

    apart = [allocate(case, workers=1).plants for case in (first, second)]
    assert both == pytest.approx(np.concatenate(apart))


@bounded
@given(chance)
def test_another_order_of_the_rows_is_worth_as_much(rng: np.random.Generator) -> None:
    case = season(rng, 5, 5)
    other, _order = shuffled(case, rng)

    ours, theirs = (levels(each, allocate(each, workers=1).plants)[0] for each in (case, other))

    turns = len(np.unique(case.needs.turn))
    total = case.needs.plants.sum()
    # Pins and turns to what holding them lets slip; misses of shares and mothers are in parts of a line.
    assert ours[: turns + 1] == pytest.approx(theirs[: turns + 1], abs=5 * NEAR * total)
    assert ours[turns + 1] == pytest.approx(theirs[turns + 1], abs=1e-3)


def more_seed(case: Problem, rng: np.random.Generator) -> Problem:
    lot = rng.integers(len(case.holdings))
    seeds = case.holdings.seeds.copy()
    seeds[lot] += rng.integers(1, 500)
    return replace(case, holdings=replace(case.holdings, seeds=seeds))


def one_more_pair(case: Problem, rng: np.random.Generator) -> Problem:
    met = np.zeros((len(case.needs), len(case.holdings)), bool)
    met[case.pairs.line, case.pairs.lot] = True
    free = np.argwhere(~met)
    line, lot = (int(value) for value in free[rng.integers(len(free))])
    added = pairs([line], [lot], plants_per_seed=0.5)
    columns = {name: np.append(value, getattr(added, name)) for name, value in vars(case.pairs).items()}
    return replace(case, pairs=Pairs(**columns))


def unpinned(case: Problem) -> Problem:
    return replace(case, pairs=replace(case.pairs, pinned=np.zeros(len(case.pairs))))


@bounded
@given(chance)
def test_more_seed_or_one_more_pair_never_fills_the_turns_less(rng: np.random.Generator) -> None:
    case = unpinned(season(rng))
    before = by_turn(case, allocate(case, workers=1).plants)

    for richer in (more_seed(case, rng), one_more_pair(case, rng)):
        after = by_turn(richer, allocate(richer, workers=1).plants)
        # Turn by turn: where an earlier one gained, a later one may have lost.
        gained = np.flatnonzero(np.abs(after - before) > 5 * NEAR * case.needs.plants.sum())
        assert not gained.size or after[gained[0]] > before[gained[0]]


@bounded
@given(chance)
def test_a_pin_is_kept_as_far_as_its_lot_gives_it(rng: np.random.Generator) -> None:
    case = unpinned(season(rng))
    at = int(rng.integers(len(case.pairs)))
    pinned = case.pairs.pinned.copy()
    pinned[at] = rng.integers(1, 500)
    case = replace(case, pairs=replace(case.pairs, pinned=pinned))

    plants = allocate(case, workers=1).plants

    can = min(pinned[at], case.most()[at])
    assert plants[at] >= can - 2 * NEAR * case.needs.plants.sum()


def test_no_time_gives_nothing_and_says_that_nothing_is_known() -> None:
    case = problem(needs([9, 6]), holdings([10, 3]), cautions=[0, 1, 0, 1])

    found = allocate(case, seconds=0)

    assert found.plants.tolist() == [0, 0, 0, 0]
    assert found.gap.tolist() == [np.inf]


def test_progress_is_told_to_the_end() -> None:
    told: list[Progress] = []
    case = together(problem(needs([9, 6]), holdings([10, 3])), problem(needs([5]), holdings([7])))

    allocate(case, report=told.append)

    # Small parts go first.
    assert told == [Progress(1, 2, 1, 5), Progress(2, 2, 5, 5)]


def test_nothing_to_share_out_is_shared_out_at_once() -> None:
    found = allocate(problem(needs([9]), holdings([10]), pairs([], [])))

    assert (found.plants.tolist(), found.part.tolist(), found.gap.tolist()) == ([], [], [])


def test_an_empty_lot_gives_nothing() -> None:
    lots: Holdings = holdings([0.0, 0.0])

    assert allocate(problem(needs([9, 4]), lots, least=1.0)).plants.tolist() == [0, 0, 0, 0]
