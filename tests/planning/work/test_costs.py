"""Costs: sharing out to the cent, and a plant's cost worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.work.costs import (
    PARTS,
    Part,
    Weights,
    allocate,
    bear,
    cents,
    overhead,
    per_plant,
    substrate_litres,
)


def entries(table: object) -> Weights:
    """A table of pools by carriers, every entry of it, as weights."""
    dense = np.asarray(table, np.float64)
    pool, carrier = np.indices(dense.shape)
    return Weights(pool.ravel(), carrier.ravel(), dense.ravel(), dense.shape[1])


#: Pools: a total in cents, and the weights of its carriers from the first on.
pools = st.lists(
    st.tuples(st.integers(-(10**9), 10**12), st.lists(st.integers(0, 10**7), min_size=1, max_size=6)),
    min_size=1,
    max_size=4,
)
Drawn = list[tuple[int, list[int]]]


def of_few(drawn: Drawn) -> Weights:
    """Weights of pools that have more or fewer of six carriers; somebody always bears something."""
    rows = [np.array([1 + first, *rest], np.float64) / 3 for _total, (first, *rest) in drawn]
    sizes = [len(row) for row in rows]
    carrier = np.concatenate([np.arange(size) for size in sizes])
    return Weights(np.repeat(np.arange(len(rows)), sizes), carrier, np.concatenate(rows), 6)


@given(pools)
def test_what_is_shared_out_always_adds_up_to_the_total(drawn: Drawn) -> None:
    totals, weights = np.array([total for total, _row in drawn], np.int64), of_few(drawn)
    given_out = allocate(totals, weights)
    sums = np.zeros(len(drawn), np.int64)
    np.add.at(sums, weights.pool, given_out)
    assert sums.tolist() == totals.tolist()
    assert np.all(given_out[weights.weight == 0] == 0)
    # Nobody gets more than a cent beside her share.
    exact = totals[weights.pool] * weights.weight / np.bincount(weights.pool, weights.weight)[weights.pool]
    assert np.all(np.abs(given_out - exact) <= 1.01)


def test_a_cent_left_over_goes_to_the_carrier_at_which_it_comes_together() -> None:
    # 100 cents by 1:1:1 reach 33⅓, 66⅔ and 100, rounded 33, 67 and 100; 10 by 1:2:3 reach 1⅔, 5 and 10.
    assert allocate([100, 10], entries([[1, 1, 1], [1, 2, 3]])).tolist() == [33, 34, 33, 2, 3, 5]


def test_a_pool_may_have_few_of_the_carriers() -> None:
    few = Weights(np.array([0, 1, 1]), np.array([2, 0, 2]), np.array([5.0, 1.0, 3.0]), 3)
    borne = bear([100, 40], [10.0, 4.0], [0, 0], few, overhead_share=0.0)
    assert (borne.cents[:, 0].tolist(), borne.quantities[:, 0].tolist()) == ([10, 0, 130], [1.0, 0.0, 13.0])


@pytest.mark.parametrize("weights", [[[0.0, 0.0]], [[1.0, -1.0]], [[np.nan, 1.0]], [[np.inf, 1.0]]])
def test_a_pool_that_nobody_bears_is_refused(weights: list[list[float]]) -> None:
    with pytest.raises(ValueError, match=r"nobody to bear it|0 or more|not finite"):
        allocate([100], entries(weights))


def test_a_pool_without_any_entry_is_refused() -> None:
    with pytest.raises(ValueError, match="nobody to bear it"):
        allocate([100, 100], Weights(np.array([0]), np.array([0]), np.array([1.0]), 1))


@given(pools, st.floats(0, 1))
def test_parts_and_carriers_add_up_to_the_same_total(drawn: Drawn, share: float) -> None:
    totals = np.abs(np.array([total for total, _row in drawn], np.int64))
    parts = np.arange(len(totals)) % (len(PARTS) - 1)
    borne = bear(totals, np.ones(len(totals)), parts, of_few(drawn), overhead_share=share)
    assert borne.cents[:, :-1].sum() == totals.sum()
    assert borne.total == totals.sum() + np.rint(totals.sum() * share)
    assert borne.cents[:, -1].tolist() == overhead(borne.cents[:, :-1].sum(axis=1), share).tolist()
    assert np.allclose(borne.quantities.sum(), len(totals))


def test_a_plants_cost_with_all_its_parts_worked_out_by_hand() -> None:
    """Two batches: 600 plants of oak in 20 trays of 40 cells of 300 cm³, and 400 of ash in 10 trays of 50.

    By hand, in euro:
    - labour: 30 h for the oak and 12 h for the ash at 14.00 an hour: 420.00 and 168.00
    - seed: 1,600 acorns at 0.05 and 1,000 keys at 0.01: 80.00 and 10.00
    - containers: trays at 4.00 that last five seasons: 20 × 0.80 = 16.00 and 10 × 0.80 = 8.00
    - substrate: 800 cells × 0.3 l × 1.2 = 288 l at 0.10: 28.80; 500 cells × 0.3 × 1.2 = 180 l: 18.00
    - supplies: 12.00 for a thousand plants: 7.20 and 4.80
    - expenses: 100.01 of fuel borne by all, by plants 600:400: 60.006 and 40.004, in cents 60.01 and 40.00
    - overhead: 15 % of 612.01 is 91.8015 → 91.80; of 248.80 it is 37.32
    """
    money = [420.00, 168.00, 80.00, 10.00, 16.00, 8.00, 28.80, 18.00, 7.20, 4.80, 100.01]
    parts = [0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5]
    oak, ash = [1.0, 0.0], [0.0, 1.0]
    weights = [oak, ash] * 5 + [[600.0, 400.0]]
    assert substrate_litres([800, 500], [300.0, 300.0]).tolist() == pytest.approx([288.0, 180.0])
    borne = bear(cents(money), np.ones(11), parts, entries(weights), overhead_share=0.15)
    assert borne.cents.tolist() == [
        [42000, 8000, 1600, 2880, 720, 6001, 9180],
        [16800, 1000, 800, 1800, 480, 4000, 3732],
    ]
    assert borne.cents.sum(axis=1).tolist() == [70381, 28612]
    # 703.81 ÷ 600 plants grown, ÷ 540 planted, ÷ 459 surviving (85 % of those planted).
    assert per_plant([70381, 70381, 70381], [600, 540, 459]).tolist() == pytest.approx(
        [117.3017, 130.3352, 153.3355], abs=1e-4
    )


def test_where_there_is_no_plant_there_is_no_cost_of_one() -> None:
    assert np.isnan(per_plant([100.0], [0.0])).tolist() == [True]


def test_parts_are_in_the_order_in_which_pages_tell_them() -> None:
    assert PARTS[0] is Part.LABOUR
    assert PARTS[-1] is Part.OVERHEAD
