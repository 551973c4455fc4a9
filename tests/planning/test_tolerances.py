from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import studentized_range

from nursery.planning.tolerances import tolerated_range

#: US Federal Seed Act regulations, 7 CFR § 201.55(a): mean → tolerance for 4 and for 2 replicates of 100.
PUBLISHED = {
    99: (5, None), 98: (6, None), 97: (7, 6), 96: (8, 6), 95: (9, 7), 94: (10, 8), 93: (10, 8), 92: (11, 9),
    91: (11, 9), 90: (12, 9), 89: (12, 10), 88: (13, 10), 87: (13, 11), 86: (14, 11), 85: (14, 11), 84: (14, 11),
    83: (15, 12), 82: (15, 12), 81: (15, 12), 80: (16, 13), 79: (16, 13), 78: (16, 13), 77: (17, 13), 76: (17, 13),
    75: (17, 14), 74: (17, 14), 73: (17, 14), 72: (18, 14), 71: (18, 14),
}  # fmt: skip
#: Four replicates below those rows: from memory.
REMEMBERED = {70: 18, 67: 18, 66: 19, 60: 19, 56: 19, 55: 20, 51: 20, 50: 20}


@pytest.mark.parametrize("mean", PUBLISHED)
@pytest.mark.parametrize("mirrored", [False, True])
def test_the_printed_rows_are_met_from_both_ends(mean: int, mirrored: bool) -> None:
    four, two = PUBLISHED[mean]
    shown = 100 - mean if mirrored else mean

    assert tolerated_range(shown, 4, 100) == four
    assert two is None or tolerated_range(shown, 2, 100) == two


@pytest.mark.parametrize(("mean", "tolerance"), REMEMBERED.items())
def test_the_remembered_rows_are_kept(mean: int, tolerance: int) -> None:
    assert tolerated_range(mean, 4, 100) == tolerance


def test_means_are_rounded_half_up_to_their_row() -> None:
    assert [tolerated_range(mean, 4, 100) for mean in (94.4, 94.5, 95.49, 95.5)] == [10, 9, 9, 8]


def test_beyond_99_the_row_of_99_holds() -> None:
    assert [tolerated_range(mean, 4, 100) for mean in (100, 99.75, 0, 0.25)] == [5, 5, 5, 5]


@pytest.mark.parametrize("mean", PUBLISHED)
def test_the_model_behind_the_table_meets_it_within_a_point_or_so(mean: int) -> None:
    # q(0.975; 4, ∞) = 3.984 (computed)
    model = studentized_range.ppf(0.975, 4, math.inf) * math.sqrt(mean * (100 - mean) / 100)

    assert abs(model - PUBLISHED[mean][0]) < 1.1


def test_other_layouts_use_the_model() -> None:
    q = studentized_range.ppf(0.975, 3, math.inf)

    assert tolerated_range(80, 3, 50) == math.floor(q * math.sqrt(80 * 20 / 50) + 0.5)


@given(mean=st.floats(0, 100), replicates=st.integers(2, 12), seeds=st.sampled_from([25, 50, 100, 200]))
def test_a_tolerance_is_the_same_for_dead_and_alive(mean: float, replicates: int, seeds: int) -> None:
    rounded = math.floor(mean + 0.5)

    assert tolerated_range(rounded, replicates, seeds) == tolerated_range(100 - rounded, replicates, seeds)


@pytest.mark.parametrize(("mean", "replicates", "seeds"), [(101, 4, 100), (50, 1, 100), (50, 4, 0)])
def test_impossible_layouts_are_refused(mean: float, replicates: int, seeds: int) -> None:
    with pytest.raises(ValueError, match="two replicates"):
        tolerated_range(mean, replicates, seeds)
