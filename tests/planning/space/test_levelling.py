"""Levelling against all that could be done, tried one by one."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np
import pytest

from nursery.planning.space.choices import Areas, Options, Things
from nursery.planning.space.levelling import Levelled, level
from nursery.planning.space.levelling_search import PRIORITIES

Case = tuple[Things, Options, Areas]


def random_case(seed: int) -> Case:
    """Up to four things with up to three days and two places, over four weeks and three areas."""
    dice = np.random.default_rng(seed)
    number, weeks = int(dice.integers(1, 5)), 4
    # Two benches in one nursery, or a bench in each of two; the third area is what holds both.
    member = np.array([[True, False, True], [False, True, dice.random() < 0.7], [False, False, True]])
    things = Things(
        trays=dice.integers(1, 4, number), plants=dice.integers(10, 100, number),
        priority=dice.choice([0, 1, 2, 5], number),
    )  # fmt: skip
    rows = []
    for thing in range(number):
        days = [0, *dice.choice([-7, 7, 14], int(dice.integers(0, 3)), replace=False)]
        places = list(dice.permutation(3)[: int(dice.integers(1, 3))])
        for day, place in itertools.product(days, places):
            use = np.zeros(weeks)
            begin = int(dice.integers(0, 3))
            use[begin : begin + int(dice.integers(1, 4))] = round(float(dice.uniform(0.5, 3)), 1)
            rows.append((thing, int(day), int(place), day == 0 and place == places[0], use))
    thing, day, place, home, use = zip(*rows, strict=True)
    options = Options(np.array(thing), np.array(day), np.array(place), np.array(home), np.array(use))
    room = np.round(dice.uniform(0.5, 5, 3), 1)
    room[dice.random(3) < 0.2] = np.nan
    standing = np.round(dice.uniform(0, 1, (3, weeks)) * (dice.random((3, weeks)) < 0.3), 1)
    return things, options, Areas(member, room, standing)


def splits(trays: int, places: int) -> Iterator[tuple[int, ...]]:
    if places == 1:
        yield (trays,)
        return
    for first in range(trays + 1):
        for rest in splits(trays - first, places - 1):
            yield (first, *rest)


def ways(case: Case, thing: int) -> Iterator[tuple[dict[int, int], bool]]:
    """Every way to deal with one thing: trays by option, and whether it is dropped."""
    things, options, _areas = case
    own = np.flatnonzero(options.thing == thing)
    for day in dict.fromkeys(options.days[own].tolist()):
        group = own[options.days[own] == day].tolist()
        for split in splits(int(things.trays[thing]), len(group)):
            yield dict(zip(group, split, strict=True)), False
    if things.priority[thing] > 0:
        yield {}, True


def worth(case: Case, trays: np.ndarray, dropped: np.ndarray) -> tuple[float, ...]:
    """What is made as small as it can be, from the first to the last."""
    things, options, areas = case
    over = areas.over(areas.taken(options, trays / things.trays[options.thing])).sum()
    shift = touched = moved = 0.0
    for thing in range(len(things)):
        own = np.flatnonzero((options.thing == thing) & (trays > 0))
        home = int(np.flatnonzero(options.home & (options.thing == thing))[0])
        shift += max((abs(int(options.days[at])) for at in own), default=0) * int(things.plants[thing])
        touched += bool(dropped[thing]) or trays[home] != things.trays[thing]
        moved += sum(int(trays[at]) for at in own if options.place[at] != options.place[home])
    lost = [float(things.plants[dropped & (things.priority == priority)].sum()) for priority in PRIORITIES]
    return (round(float(over), 3), *lost, shift, touched, moved)


def best_of_all(case: Case) -> tuple[float, ...]:
    things, options, _areas = case
    found = []
    for chosen in itertools.product(*(list(ways(case, thing)) for thing in range(len(things)))):
        trays, dropped = np.zeros(len(options), np.int64), np.array([gone for _split, gone in chosen])
        for split, _gone in chosen:
            for at, count in split.items():
                trays[at] = count
        found.append(worth(case, trays, dropped))
    return min(found)


@pytest.mark.parametrize("seed", range(150))
def test_the_answer_is_the_best_of_all_that_could_be_done(seed: int) -> None:
    case = random_case(seed)
    answer = level(*case)
    assert worth(case, answer.trays, answer.dropped) == pytest.approx(best_of_all(case), abs=2e-3)
    assert answer.is_proved


@pytest.mark.parametrize("seed", range(150))
def test_all_trays_stand_somewhere_unless_their_thing_is_dropped(seed: int) -> None:
    things, options, areas = random_case(seed)
    answer = level(things, options, areas)
    stand = np.bincount(options.thing, answer.trays, len(things))
    assert stand.tolist() == np.where(answer.dropped, 0, things.trays).tolist()
    assert not answer.dropped[things.priority == 0].any()
    assert answer.after == pytest.approx(areas.taken(options, answer.trays / things.trays[options.thing]))


def one_place(*uses: tuple[int, bool, list[float]], room: float, priority: int = 3) -> Levelled:
    """One thing of four trays and a hundred plants with options by day, in one place."""
    days, home, use = zip(*uses, strict=True)
    options = Options(
        np.zeros(len(uses), np.int64), np.array(days), np.zeros(len(uses), np.int64), np.array(home), np.array(use)
    )
    areas = Areas(np.array([[True]]), np.array([room]), np.array([[3.0, 0.0, 0.0]]))
    return level(Things(np.array([4]), np.array([100]), np.array([priority])), options, areas)


def test_what_fits_is_left_alone() -> None:
    answer = one_place((0, True, [1.0, 1.0, 0.0]), (7, False, [0.0, 1.0, 1.0]), room=4.0)
    assert (answer.is_needed, answer.trays.tolist()) == (False, [4, 0])


def test_a_shift_comes_before_a_loss_and_the_least_shift_first() -> None:
    answer = one_place(
        (0, True, [2.0, 2.0, 0.0]), (14, False, [0.0, 0.0, 2.0]), (7, False, [0.0, 2.0, 2.0]), room=4.0
    )
    assert (answer.trays.tolist(), answer.dropped.tolist()) == ([0, 0, 4], [False])
    assert (answer.over_before.tolist(), answer.over_after.tolist()) == ([[1.0, 0.0, 0.0]], [[0.0, 0.0, 0.0]])


def test_what_can_neither_be_shifted_nor_dropped_stays_and_the_rest_is_told() -> None:
    answer = one_place((0, True, [2.0, 2.0, 0.0]), room=4.0, priority=0)
    assert (answer.trays.tolist(), answer.over_after.tolist()) == ([4], [[1.0, 0.0, 0.0]])


def test_what_can_only_be_dropped_is_named() -> None:
    answer = one_place((0, True, [2.0, 2.0, 0.0]), room=4.0, priority=5)
    assert (answer.trays.tolist(), answer.dropped.tolist()) == ([0], [True])


def test_only_as_many_trays_are_moved_as_must_be() -> None:
    options = Options(
        np.array([0, 0]), np.array([0, 0]), np.array([0, 1]), np.array([True, False]), np.array([[2.0], [2.0]])
    )
    member = np.array([[True, False], [False, True]])
    areas = Areas(member, np.array([1.3, 5.0]), np.zeros((2, 1)))
    answer = level(Things(np.array([10]), np.array([100]), np.array([0])), options, areas)
    assert answer.trays.tolist() == [6, 4]


def test_without_time_nothing_is_changed_and_nothing_claimed() -> None:
    things, options, areas = random_case(1)
    tight = Areas(areas.member, np.full(3, 0.1), areas.standing)
    answer = level(things, options, tight, seconds=0.0)
    assert answer.trays.tolist() == np.where(options.home, things.trays[options.thing], 0).tolist()
    assert (answer.is_needed, answer.is_proved) == (True, False)


def test_two_homes_are_refused() -> None:
    with pytest.raises(ValueError, match="exactly one option that is home"):
        one_place((0, True, [1.0, 0.0, 0.0]), (7, True, [1.0, 0.0, 0.0]), room=4.0)
