from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.mothers import Kind, effective_of_mix, mother_balance, mother_shares, status_number


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


@pytest.mark.parametrize(("weights", "mothers"), [([1.0] * 30, 30.0), ([0.4] + [0.6 / 29] * 29, 5.8)])
def test_as_many_unrelated_fathers_make_seedlings_worth_twice_their_mothers(
    weights: list[float], mothers: float
) -> None:
    # The worked cases of the bounds: Nf → ∞ gives 4·Nm, Nf = Nm gives 2·Nm, pollen of the mothers themselves Nm.
    found = mother_balance(weights, Kind.SEED).effective_mothers

    assert status_number(found, found) == pytest.approx(2 * mothers, abs=0.01)
    assert status_number(found, np.inf) == pytest.approx(4 * mothers, abs=0.02)
    assert status_number(found, found / 3) == pytest.approx(mothers, abs=0.005)
    assert mother_balance(weights, Kind.SEED).status_number_high == pytest.approx(status_number(found, np.inf))


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


def test_a_mixture_of_two_lots_by_hand() -> None:
    # 60 % of a lot worth 30 and 40 % of one worth 10: 0.36/30 + 0.16/10 = 0.012 + 0.016 = 0.028.
    assert effective_of_mix([3, 2], [30, 10]) == pytest.approx(1 / 0.028)
    # All of one lot is that lot, and equal parts of equal lots add up.
    assert effective_of_mix([1, 0], [30, 10]) == pytest.approx(30)
    assert effective_of_mix([1, 1], [30, 30]) == pytest.approx(60)


def test_a_mother_in_two_parts_counts_once() -> None:
    # Two bags each; mother "a" is in both lots: 0.25 + 0.25, then 0.25 and 0.25; 1 / (0.25 + 2 · 0.0625).
    shares = mother_shares([(0.5, {"a": 10, "b": 10}), (0.5, {"a": 3, "c": 3})])

    assert shares == {"a": 0.5, "b": 0.25, "c": 0.25}
    assert mother_balance(list(shares.values()), Kind.SEED).effective_mothers == pytest.approx(8 / 3)


BAGS = st.lists(st.floats(0.01, 1000), min_size=1, max_size=8)


@given(st.lists(st.tuples(st.floats(0.01, 1000), BAGS), min_size=1, max_size=6))
def test_the_rule_of_mixtures_equals_the_count_over_all_mothers(parts: list[tuple[float, list[float]]]) -> None:
    alone = [float(mother_balance(bags, Kind.SEED).effective_mothers) for _share, bags in parts]
    shares = mother_shares(
        [
            (share, {(lot, bag): weight for bag, weight in enumerate(bags)})
            for lot, (share, bags) in enumerate(parts)
        ]
    )
    every = [share / sum(s for s, _ in parts) * weight / sum(bags) for share, bags in parts for weight in bags]

    direct = 1 / sum(p**2 for p in every)
    assert effective_of_mix([share for share, _ in parts], alone) == pytest.approx(direct)
    assert mother_balance(list(shares.values()), Kind.SEED).effective_mothers == pytest.approx(direct)


@given(
    st.lists(
        st.tuples(st.floats(0.01, 1000), st.dictionaries(st.integers(1, 5), st.floats(0.01, 1000), min_size=1)),
        min_size=1,
        max_size=6,
    )
)
def test_mothers_in_common_make_a_mixture_worth_less_never_more(
    parts: list[tuple[float, dict[int, float]]],
) -> None:
    alone = [float(mother_balance(list(bags.values()), Kind.SEED).effective_mothers) for _share, bags in parts]
    shares = mother_shares(parts)

    assert sum(shares.values()) == pytest.approx(1)
    exact = float(mother_balance(list(shares.values()), Kind.SEED).effective_mothers)
    assert 1 - 1e-9 <= exact <= float(effective_of_mix([share for share, _ in parts], alone)) * (1 + 1e-9)


@pytest.mark.parametrize(("shares", "effective"), [([0, 0], [3, 3]), ([-1, 2], [3, 3]), ([1, 1], [3, 0.5])])
def test_a_mixture_of_nothing_is_refused(shares: list[float], effective: list[float]) -> None:
    with pytest.raises(ValueError, match=r"shares|effective"):
        effective_of_mix(shares, effective)


@pytest.mark.parametrize("parts", [[], [(1.0, {})], [(0.0, {"a": 1.0})]])
def test_a_part_without_mothers_is_refused(parts: list[tuple[float, dict[str, float]]]) -> None:
    with pytest.raises(ValueError, match="each part needs a mother"):
        mother_shares(parts)
