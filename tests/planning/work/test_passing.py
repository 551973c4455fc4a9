"""Costs that go along with plants through splits and mergers."""

from __future__ import annotations

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.work.passing import Leaving, passed_on


def day(number: int) -> dt.date:
    return dt.date(2027, 3, 1) + dt.timedelta(days=number)


#: Batch 1 gives a quarter to batch 2 on day 10; on day 20 all that is left of both goes to batch 3.
LEAVING = {
    1: [Leaving(day(10), 2, 100, 400), Leaving(day(20), 3, 300, 300)],
    2: [Leaving(day(20), 3, 50, 100)],
}


def test_a_cost_before_the_split_goes_along_with_the_plants() -> None:
    # 3/4 stays until the merger takes it whole; of the quarter half goes too.
    assert passed_on(1, day(5), LEAVING) == {3: 0.875, 2: 0.125}


def test_a_cost_after_the_split_stays_with_what_was_left() -> None:
    assert passed_on(1, day(15), LEAVING) == {3: 1.0}
    assert passed_on(2, day(21), LEAVING) == {2: 1.0}


def test_seed_and_trays_go_along_with_mergers_alone() -> None:
    mixed = {1: [Leaving(day(10), 2, 100, 400), Leaving(day(20), 3, 300, 300, is_merger=True)]}
    assert passed_on(1, None, mixed) == {3: 1.0}


@given(
    st.lists(
        st.tuples(st.integers(0, 4), st.integers(1, 5), st.integers(1, 300), st.integers(0, 40)), max_size=12
    ),
    st.integers(0, 40),
)
def test_nothing_is_lost_or_doubled_on_the_way(drawn: list[tuple[int, int, int, int]], since: int) -> None:
    leaving: dict[int, list[Leaving]] = {}
    for at, step, plants, when in sorted(drawn, key=lambda one: one[3]):
        leaving.setdefault(at, []).append(Leaving(day(when), at + step, plants, 300))
    assert abs(sum(passed_on(0, day(since), leaving).values()) - 1) < 1e-9
