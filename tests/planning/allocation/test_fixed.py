"""What grows for a line already: it counts in every wish, nothing moves it, and it takes no seed from store."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nursery.planning.allocation import Pairs, Problem, allocate
from nursery.planning.allocation.parts import connected_parts
from tests.planning.allocation.cases import best_of, every_allocation, holdings, levels, needs, pairs, problem
from tests.planning.allocation.test_brute_force import NEAR, cases, solved

bounded = settings(max_examples=120, deadline=None, derandomize=True)


def with_growing(case: Problem, line: list[int], plants: list[int], kin: list[int]) -> Problem:
    """The same lines with so many plants more wanted, which grow already; ``kin`` is the lot they came from."""
    lots = len(case.holdings)
    grown = pairs(line, list(range(lots, lots + len(line))), fixed=True)
    held = case.holdings
    of_kin = {name: getattr(held, name)[kin] for name in ("population", "effective_mothers", "largest_family")}
    stock = replace(
        held,
        seeds=np.append(held.seeds, plants).astype(float),
        kin=np.append(held.kin, kin),
        **{name: np.append(getattr(held, name), value) for name, value in of_kin.items()},
    )
    more = case.needs.plants + np.bincount(line, plants, len(case.needs))
    columns = {
        each.name: np.append(getattr(case.pairs, each.name), getattr(grown, each.name)) for each in fields(Pairs)
    }
    return Problem(replace(case.needs, plants=more), stock, Pairs(**columns))


@st.composite
def growing_cases(draw: st.DrawFn, *, wishes: bool = False) -> Problem:
    case = draw(cases(wishes=wishes))
    lines = draw(st.lists(st.integers(0, len(case.needs) - 1), min_size=1, max_size=2, unique=True))
    plants = [draw(st.integers(1, 3)) for _ in lines]
    kin = [draw(st.integers(0, len(case.holdings) - 1)) for _ in lines]
    return with_growing(case, lines, plants, kin)


@bounded
@given(growing_cases())
def test_beside_growing_plants_no_allocation_is_better_than_the_one_found(case: Problem) -> None:
    for at in connected_parts(case):
        part = case.part(at)
        assert solved(part) == pytest.approx(best_of(levels(part, every_allocation(part))), abs=NEAR)


@bounded
@given(growing_cases(wishes=True))
def test_nor_where_shares_and_caps_are_wished(case: Problem) -> None:
    for at in connected_parts(case):
        part = case.part(at)
        ours, best = solved(part), best_of(levels(part, every_allocation(part)))
        apart = np.flatnonzero(np.abs(ours - best) > NEAR)
        # Parts of plants may keep a share better than whole ones; from there on the two go different ways.
        assert not apart.size or ours[apart[0]] < best[apart[0]]


@bounded
@given(growing_cases(wishes=True))
def test_growing_plants_stay_to_the_last_one(case: Problem) -> None:
    found = allocate(case, gap=0, workers=1).plants
    there = case.pairs.fixed
    assert found[there] == pytest.approx(case.holdings.seeds[case.pairs.lot[there]], abs=1e-4)


def test_growing_plants_of_one_source_leave_the_other_source_to_be_sown() -> None:
    # 60 local plants grow for 100; halves are asked for: 40 near ones come nearest.
    case = with_growing(
        problem(needs([40], shares=[0.5, 0.5, 0, 0], tolerance=0.0), holdings([100, 100]), source=[0, 1]),
        [0], [60], [0],
    )  # fmt: skip
    assert allocate(case, gap=0).plants == pytest.approx([0, 40, 60], abs=0.1)


def test_seed_of_the_lot_that_grows_already_brings_no_new_mothers() -> None:
    # 50 plants of a lot of 10 mothers grow. 50 more of it make 10 effective mothers, 50 of another lot make 20.
    plain = problem(
        needs([50], least_mothers=20.0), holdings([100, 100], mothers=[10, 10]), distance_m=[0.0, 9000.0]
    )
    assert allocate(with_growing(plain, [0], [50], [0]), gap=0).plants == pytest.approx([0, 50, 50], abs=2.5)


def test_the_same_lot_in_store_and_in_the_nursery_is_one_family() -> None:
    # One family is half of the lot; a quarter is allowed, so that the lot may give half of the 100, all grown.
    case = with_growing(
        problem(
            needs([50], family_cap=0.25), holdings([100, 100], family=[0.5, 0.1]), distance_m=[0.0, 9000.0]
        ),
        [0], [50], [0],
    )  # fmt: skip
    assert allocate(case, gap=0).plants == pytest.approx([0, 50, 50], abs=0.1)


def test_a_line_that_has_all_it_needs_gets_nothing_more() -> None:
    case = with_growing(problem(needs([0, 5]), holdings([9])), [0], [8], [0])
    assert allocate(case, gap=0).plants == pytest.approx([0, 5, 8], abs=0.01)
