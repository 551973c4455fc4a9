from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.mothers import Kind, mother_balance


def test_equal_mothers_count_in_full() -> None:
    found = mother_balance([1] * 30, Kind.SEED)

    assert found.effective_mothers == pytest.approx(30)
    assert found.largest_share == pytest.approx(1 / 30)
    assert (found.status_number_low, found.status_number_high) == pytest.approx((30, 120))


def test_one_mother_with_forty_percent_costs_most_of_the_lot() -> None:
    # Σp² = 0.16 + 29·(0.6/29)² = 0.1724 → 5.8 (worked by hand)
    found = mother_balance([0.4] + [0.6 / 29] * 29, Kind.SEED)

    assert found.effective_mothers == pytest.approx(5.8, abs=0.005)
    assert found.largest_share == pytest.approx(0.4)


def test_clones_are_worth_no_more_than_their_mothers() -> None:
    found = mother_balance([3, 3, 2], Kind.CLONE)

    assert found.status_number_low == found.status_number_high == found.effective_mothers


def test_few_males_bound_the_worth() -> None:
    # 4 · 1 · 9 ÷ 10
    found = mother_balance([1] * 10, Kind.CLONE, ["male"] + ["female"] * 9)

    assert found.effective_mothers == pytest.approx(10)
    assert (found.status_number_low, found.status_number_high) == pytest.approx((3.6, 3.6))


def test_one_sex_alone_has_no_future() -> None:
    assert mother_balance([1, 1], Kind.CLONE, ["female", "female"]).status_number_high == 0


def test_mothers_without_weight_do_not_count() -> None:
    found = mother_balance([1, 1, 0], Kind.CLONE, ["male", "female", "male"])

    assert found.effective_mothers == 2
    assert found.status_number_high == 2


def test_lots_are_judged_together() -> None:
    found = mother_balance([[1, 1, 0], [1, 1, 2]], Kind.SEED)

    assert found.effective_mothers == pytest.approx([2, 16 / 6])
    assert found.largest_share.tolist() == [0.5, 0.5]


@given(st.lists(st.floats(0.001, 1000), min_size=1, max_size=80))
def test_effective_mothers_lie_between_one_and_their_number(weights: list[float]) -> None:
    found = mother_balance(weights, Kind.SEED)

    assert 1 - 1e-9 <= found.effective_mothers <= len(weights) + 1e-9
    assert 1 / found.largest_share >= 1 - 1e-9


@pytest.mark.parametrize("weights", [[0, 0], [-1, 2]])
def test_lots_without_mothers_are_refused(weights: list[float]) -> None:
    with pytest.raises(ValueError, match="weights"):
        mother_balance(weights, Kind.SEED)
