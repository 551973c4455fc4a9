"""Orders that keep stocks at their safety level, in whole packs and no sooner than needed."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.space.supplies import by_week, plan_orders

MONDAY = np.datetime64("2026-11-23", "D")


def test_amounts_fall_into_their_weeks_and_what_is_overdue_into_the_first() -> None:
    days = np.array(["2026-11-01", "2026-11-29", "2026-11-30", "2027-06-01", "NaT"], "datetime64[D]")
    found = by_week(days, np.array([1.0, 2.0, 4.0, 8.0, 16.0]), np.array([0, 0, 1, 0, 0]), 2, MONDAY, 3)
    assert found.tolist() == [[3.0, 0.0, 0.0], [0.0, 4.0, 0.0]]


def test_an_order_comes_in_the_week_in_which_stock_would_be_too_low_and_reaches_a_while() -> None:
    level = np.array([[50.0, 30.0, 10.0, -10.0, -30.0, -50.0]])
    orders, stock = plan_orders(level, np.array([20.0]), np.array([25.0]), cover=2)
    # In week 2 there would be 10; with the week after it −10 must become 20: 30 are missing, two packs.
    assert [orders.supply.tolist(), orders.week.tolist(), orders.packs.tolist()] == [[0, 0], [2, 5], [2, 1]]
    assert stock.tolist() == [[50.0, 30.0, 60.0, 40.0, 20.0, 25.0]]


def test_what_comes_back_in_time_is_not_ordered() -> None:
    level = np.array([[10.0, 4.0, 9.0, 9.0]])
    orders, _stock = plan_orders(level, np.array([4.0]), np.array([1.0]))
    assert orders.week.tolist() == []


def test_stock_that_is_too_low_today_is_ordered_for_this_week() -> None:
    orders, _stock = plan_orders(np.array([[1.0, 1.0]]), np.array([3.0]), np.array([10.0]))
    assert (orders.week.tolist(), orders.packs.tolist()) == ([0], [1])


@given(
    st.lists(st.lists(st.floats(-500, 500), min_size=6, max_size=6), min_size=1, max_size=4),
    st.floats(0, 50),
    st.floats(0.5, 100),
    st.integers(1, 6),
)
def test_no_week_stays_below_its_safety_stock_and_no_pack_is_too_many(
    levels: list[list[float]], safety: float, pack: float, cover: int
) -> None:
    level = np.array(levels)
    count = len(levels)
    orders, stock = plan_orders(level, np.full(count, safety), np.full(count, pack), cover)
    assert np.all(stock >= safety - 1e-6)
    for supply, week, packs in zip(orders.supply, orders.week, orders.packs, strict=True):
        before = (orders.supply == supply) & (orders.week < week)
        held = level[supply] + orders.packs[before].sum() * pack
        # It was needed in its week, and with a pack less a week that it reaches would be too low.
        assert held[week] < safety
        assert held[week : week + cover].min() + (packs - 1) * pack < safety
