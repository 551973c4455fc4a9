"""Hours by week: spreading work, what people have, and what would help."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.work.hours import Move, people_hours, relieve, spread, weeks_from

#: Mondays 1 and 8 March 2027.
WEEKS = weeks_from(np.datetime64("2027-03-03"), 3)


def test_weeks_begin_on_monday() -> None:
    assert [str(week) for week in WEEKS] == ["2027-03-01", "2027-03-08", "2027-03-15"]
    assert str(weeks_from(np.datetime64("2027-03-07"), 1)[0]) == "2027-03-01"
    assert str(weeks_from(np.datetime64("2027-03-08"), 1)[0]) == "2027-03-08"


def test_work_of_one_day_lies_in_its_week() -> None:
    assert spread(["2027-03-10"], ["2027-03-10"], [6], WEEKS).tolist() == [[0, 6, 0]]


def test_work_that_lasts_is_spread_over_working_days() -> None:
    # Thursday 4 to Tuesday 9 March: Thursday and Friday, then Monday and Tuesday.
    assert spread(["2027-03-04"], ["2027-03-09"], [8], WEEKS).tolist() == [[4, 4, 0]]


def test_work_on_a_weekend_is_done_on_it() -> None:
    assert spread(["2027-03-06"], ["2027-03-07"], [5], WEEKS).tolist() == [[5, 0, 0]]


def test_what_lies_outside_the_weeks_is_in_none() -> None:
    # Monday 22 February to Friday 5 March: half of it before.
    assert spread(["2027-02-22"], ["2027-03-05"], [10], WEEKS).tolist() == [[5, 0, 0]]


@pytest.mark.parametrize(("end", "hours"), [("2027-03-03", 1.0), ("2027-03-05", -1.0), ("2027-03-05", np.nan)])
def test_work_that_cannot_be_is_refused(end: str, hours: float) -> None:
    with pytest.raises(ValueError, match="ends before it starts"):
        spread(["2027-03-04"], [end], [hours], WEEKS)


def test_people_have_their_hours_by_working_days_between_first_and_last() -> None:
    have = people_hours([40, 10, 20], ["NaT", "2027-03-10", "NaT"], ["NaT", "NaT", "2027-03-08"], WEEKS)
    assert have.tolist() == [[40, 40, 40], [0, 6, 10], [20, 4, 0]]


@given(st.lists(st.tuples(st.integers(0, 20), st.integers(0, 30), st.floats(0, 500)), min_size=1, max_size=20))
def test_no_hour_is_lost_or_made_in_spreading(pieces: list[tuple[int, int, float]]) -> None:
    start = np.datetime64("2027-03-01") + np.array([begin for begin, _length, _hours in pieces])
    end = start + np.array([length for _begin, length, _hours in pieces])
    hours = np.array([hours for _begin, _length, hours in pieces])
    spent = spread(start, end, hours, weeks_from(np.datetime64("2027-03-01"), 9)).sum(axis=1)
    assert np.allclose(spent, hours)


def test_the_longest_piece_that_may_wait_goes_to_the_next_week_with_room() -> None:
    load = np.array([[8.0, 0, 0], [5.0, 0, 0], [4.0, 0, 0], [0, 9.0, 0]])
    relief = relieve(load, np.array([10.0, 10.0, 10.0]), np.array([0, 2, 1, 1]))
    # 17 hours for 10: the piece of 5 finds no room in the second week, and goes to the third.
    assert relief.moves == [Move(1, 0, 2, 5.0)]
    assert relief.lacking.tolist() == [2.0, 0.0, 0.0]


def test_work_that_lasts_over_weeks_stays() -> None:
    relief = relieve(np.array([[8.0, 8.0, 0.0]]), np.array([5.0, 10.0, 10.0]), np.array([2]))
    assert (relief.moves, relief.lacking.tolist()) == ([], [3.0, 0.0, 0.0])


@given(
    st.lists(st.tuples(st.integers(0, 3), st.floats(0, 20), st.integers(0, 4)), max_size=12),
    st.lists(st.floats(0, 40), min_size=4, max_size=4),
)
def test_moving_never_makes_another_week_worse_than_what_people_have(
    pieces: list[tuple[int, float, int]], have: list[float]
) -> None:
    load = np.zeros((len(pieces), 4))
    for row, (week, hours, _last) in enumerate(pieces):
        load[row, week] = hours
    capacity = np.array(have)
    relief = relieve(load, capacity, np.array([last for _week, _hours, last in pieces], np.int64))
    before = np.maximum(load.sum(axis=0) - capacity, 0)
    assert np.all(relief.lacking <= before + 1e-6)
    assert all(move.to_week <= pieces[move.piece][2] for move in relief.moves)
