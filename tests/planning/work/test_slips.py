from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.work.slips import Cost, Season, follow

NAT = np.datetime64("NaT", "D")
DAY = np.datetime64("2027-02-01", "D")


def days(*values: str | None) -> np.ndarray:
    return np.array(values, "datetime64[D]")


def test_a_task_done_late_moves_those_behind_it_until_a_wait_takes_the_slip_up() -> None:
    planned = days("2027-02-01", "2027-02-10", "2027-03-10", "2027-06-01")

    due = follow(
        planned, days(None, None, None, None), days("2027-02-15", None, None, None),
        np.array([-1, 0, 1, 2]), np.array([0, 9, 28, 60]),
    )  # fmt: skip

    assert due.astype(str).tolist() == ["2027-02-15", "2027-02-24", "2027-03-24", "2027-06-01"]


def test_a_task_put_off_moves_those_behind_it_and_one_done_early_moves_none() -> None:
    planned = days("2027-02-01", "2027-02-10")
    after, gap = np.array([-1, 0]), np.array([0, 9])

    moved = follow(planned, days("2027-02-05", None), days(None, None), after, gap)
    early = follow(planned, days(None, None), days("2027-01-20", None), after, gap)

    assert moved.astype(str).tolist() == ["2027-02-05", "2027-02-14"]
    assert early.astype(str).tolist() == ["2027-01-20", "2027-02-10"]


def test_what_is_done_stays_on_its_day_whatever_comes_before() -> None:
    due = follow(
        days("2027-02-01", "2027-02-10"), days("2027-03-01", None), days(None, "2027-02-11"),
        np.array([-1, 0]), np.array([0, 9]),
    )  # fmt: skip

    assert due.astype(str).tolist() == ["2027-03-01", "2027-02-11"]


def test_tasks_in_a_ring_are_refused() -> None:
    with pytest.raises(ValueError, match="ring"):
        follow(
            days("2027-02-01", "2027-02-01"),
            days(None, None),
            days(None, None),
            np.array([1, 0]),
            np.array([1, 1]),
        )


@given(st.data())
def test_every_open_task_lies_on_its_day_or_just_where_the_one_before_lets_it(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 12))
    after = np.array([data.draw(st.integers(-1, row - 1)) for row in range(count)])
    gap = np.array(data.draw(st.lists(st.integers(0, 90), min_size=count, max_size=count)))
    planned = DAY + np.array(data.draw(st.lists(st.integers(0, 300), min_size=count, max_size=count)))
    late = data.draw(st.lists(st.none() | st.integers(-50, 400), min_size=count, max_size=count))
    settled = np.array([NAT if one is None else DAY + one for one in late], "datetime64[D]")
    order = np.array(data.draw(st.permutations(range(count))))
    place = np.argsort(order)
    shuffled = np.where(after[order] < 0, -1, place[after[order]])

    due = follow(planned[order], np.full(count, NAT), settled[order], shuffled, gap[order])[place]

    for row in range(count):
        earliest = planned[row]
        if after[row] >= 0:
            earliest = max(earliest, due[after[row]] + gap[row])
        assert due[row] == (earliest if np.isnat(settled[row]) else settled[row])


@pytest.mark.parametrize(
    ("after", "sown", "cost"),
    [
        ("2027-11-03", None, Cost.NOTHING),
        ("2027-11-17", None, Cost.IN_WINDOW),
        ("2027-11-17", ("2027-04-02", "2027-03-31"), Cost.SOWING_LATE),
        ("2027-11-17", ("2027-03-31", "2027-03-31"), Cost.IN_WINDOW),
        ("2028-02-28", None, Cost.IN_WINDOW),
        ("2028-02-29", ("2027-04-02", "2027-03-31"), Cost.PLANTING_LATE),
    ],
)
def test_a_slip_costs_the_season_what_is_worst_of_it(after: str, sown: tuple[str, str] | None, cost: Cost) -> None:
    day = dt.date.fromisoformat
    sowing = (day(sown[0]), day(sown[1])) if sown else (None, None)

    assert Season(day("2027-11-03"), day(after), day("2028-02-28"), *sowing).cost is cost
