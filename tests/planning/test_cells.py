"""Seeds per cell, against the published rule and the binomial distribution."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from nursery.planning.cells import (
    cell_fill,
    cost_of_filled_cell,
    filled_cells,
    least_cost_seeds_per_cell,
    seeds_per_cell_for_fill,
)


def test_five_seeds_a_spot_at_half_viability_are_the_95_percent_rule() -> None:
    # Roy 1957, quoted in Schubert & Fowells, Sowing Rates for Reforestation by the Seed-spotting Method, USDA FS
    # Pacific SW station: 5 seeds a spot at a viability of 50 %.
    assert seeds_per_cell_for_fill(0.5, 0.95).item() == 5
    assert filled_cells(0.5, 5).item() == 0.96875


def test_one_chance_in_four_with_five_seeds_fills_three_spots_in_four() -> None:
    # Corson & Fowells 1952, quoted in the same note: 5 seeds where 1 in 4 germinates and lives.
    assert filled_cells(0.25, 5).item() == pytest.approx(0.7627, abs=5e-5)


@pytest.mark.parametrize(
    ("germination", "seeds", "empty", "single", "multiple"),
    [
        # Computed from the binomial formula, % (reference grid of the project, no printed source).
        (0.5, 1, 50, 50, 0),
        (0.5, 2, 25, 50, 25),
        (0.5, 3, 12.5, 37.5, 50),
        (0.6, 2, 16, 48, 36),
        (0.6, 3, 6.4, 28.8, 64.8),
        (0.7, 2, 9, 42, 49),
        (0.7, 3, 2.7, 18.9, 78.4),
        (0.8, 2, 4, 32, 64),
        (0.9, 1, 10, 90, 0),
        (0.9, 2, 1, 18, 81),
    ],
)
def test_cells_split_into_empty_single_and_multiple(
    germination: float, seeds: int, empty: float, single: float, multiple: float
) -> None:
    fill = cell_fill(germination, seeds)

    assert 100 * fill.empty == pytest.approx(empty)
    assert 100 * fill.multiple == pytest.approx(multiple)
    assert 100 * (fill.filled - fill.multiple) == pytest.approx(single)


@pytest.mark.parametrize(
    ("germination", "seeds", "low", "high"),
    [
        # Germination class → seeds per container → % filled. Handbook table, from memory (Dumroese, Landis &
        # Wenny 1998): a regression value, not a citation.
        ((0.80, 0.89), 2, 96, 99),
        ((0.70, 0.79), 2, 91, 96),
        ((0.60, 0.69), 3, 94, 97),
        ((0.50, 0.59), 4, 94, 97),
        ((0.40, 0.49), 5, 92, 97),
    ],
)
def test_germination_classes_fill_as_the_remembered_table_says(
    germination: tuple[float, float], seeds: int, low: float, high: float
) -> None:
    assert np.rint(100 * filled_cells(germination, seeds)).tolist() == [low, high]


@given(g=st.just(0.0) | st.floats(1e-9, 1), n=st.integers(1, 40))
def test_fill_agrees_with_scipys_binomial(g: float, n: int) -> None:
    fill = cell_fill(g, n)

    assert fill.empty == pytest.approx(binom.pmf(0, n, g), abs=1e-9)
    assert fill.multiple == pytest.approx(binom.sf(1, n, g), abs=1e-9)
    assert float(fill.empty + fill.filled) == pytest.approx(1)


@given(e=st.floats(0.01, 1), fill=st.floats(0, 0.999))
def test_seeds_for_a_fill_are_the_fewest_that_reach_it(e: float, fill: float) -> None:
    n = seeds_per_cell_for_fill(e, fill).item()

    assert filled_cells(e, n) >= fill - 1e-8
    assert n == 1 or filled_cells(e, n - 1) < fill


def test_a_certain_fill_is_out_of_reach_of_uncertain_seed() -> None:
    assert seeds_per_cell_for_fill([1.0, 1.0], [1.0, 0.5]).tolist() == [1, 1]
    with pytest.raises(ValueError, match="out of reach"):
        seeds_per_cell_for_fill(0.9, 1.0)


def test_cost_of_a_filled_cell_by_hand() -> None:
    # 2 seeds at 0.10, e = 0.5: fill 0.75, thinned 1 − 0.75 = 0.25 at 0.04, cell 0.20: (0.2 + 0.01 + 0.2) ÷ 0.75
    assert cost_of_filled_cell(0.5, 2, 0.10, 0.04, 0.20) == pytest.approx(0.41 / 0.75)


@given(
    e=st.floats(0.02, 1),
    seed=st.floats(0.001, 1),
    thin=st.floats(0, 1),
    cell=st.floats(0, 2),
)
def test_the_cheapest_number_is_the_best_of_all_tried_one_by_one(
    e: float, seed: float, thin: float, cell: float
) -> None:
    n = least_cost_seeds_per_cell(e, seed, thin, cell).item()

    costs = [float(cost_of_filled_cell(e, k, seed, thin, cell)) for k in range(1, 51)]
    assert costs[n - 1] == pytest.approx(min(costs), rel=1e-11)


def test_lines_are_worked_together_as_one_by_one() -> None:
    e = np.array([0.3, 0.6, 0.95])

    together = least_cost_seeds_per_cell(e, 0.01, 0.02, [0.1, 0.2, 0.3])

    assert together.tolist() == [
        least_cost_seeds_per_cell(one, 0.01, 0.02, cell).item()
        for one, cell in zip(e, [0.1, 0.2, 0.3], strict=True)
    ]


def test_free_seed_takes_the_largest_number_allowed_and_free_everything_the_smallest() -> None:
    assert least_cost_seeds_per_cell(0.5, 0, 0, 1, max_n=12).item() == 12
    assert least_cost_seeds_per_cell(0.5, 0, 0, 0).item() == 1


@pytest.mark.parametrize("bad", [-0.1, 1.1, float("nan")])
def test_a_chance_outside_0_to_1_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="germination"):
        cell_fill(bad, 2)


@pytest.mark.parametrize("bad", [0, 2.5, -1])
def test_a_broken_number_of_seeds_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="whole numbers"):
        cell_fill(0.5, bad)
