from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.degree_days import NEVER, days_for_degree_days, days_until_degree_days

#: Invented monthly normals of a warm valley, °C.
NORMALS = [8.0, 9.5, 12.0, 14.0, 18.0, 22.5, 25.5, 25.0, 22.0, 17.0, 12.0, 8.5]


def test_a_whole_month_gives_its_days_times_mean_less_base() -> None:
    # June: 30 × (22.5 − 10) = 375
    assert days_for_degree_days("2027-07-01", 375, 10, NORMALS).item() == 30
    assert days_until_degree_days("2027-06-01", 375, 10, NORMALS).item() == 30


def test_a_day_more_is_needed_for_a_little_more_warmth() -> None:
    # May adds 18 − 10 = 8 a day
    assert days_for_degree_days("2027-07-01", 375.1, 10, NORMALS).item() == 31
    assert days_for_degree_days("2027-07-01", 375 + 8 * 3, 10, NORMALS).item() == 33


def test_cold_months_pass_without_warmth() -> None:
    # Base 15: from 1 April back, nothing grows until September's 30 × 7; October gives 31 × 2 = 62.
    assert days_for_degree_days("2027-04-01", 62, 15, NORMALS).item() == (31 + 28 + 31) + 31 + 30 + 31


def test_no_warmth_at_all_is_never_enough() -> None:
    assert days_for_degree_days(["2027-04-01", "NaT"], 10, 30, NORMALS).tolist() == [NEVER, NEVER]


def test_no_warmth_wanted_takes_no_days() -> None:
    assert days_for_degree_days("2027-04-01", 0, 30, NORMALS).item() == 0


@given(
    day=st.dates(dt.date(2000, 1, 1), dt.date(2060, 1, 1)),
    wanted=st.floats(0, 4000),
    base=st.floats(0, 20),
)
def test_days_are_those_found_by_adding_day_by_day(day: dt.date, wanted: float, base: float) -> None:
    back, forth = 0, 0
    warmth = 0.0
    while warmth < wanted - 1e-6:
        back += 1
        warmth += max(0.0, NORMALS[(day - dt.timedelta(days=back)).month - 1] - base)
    warmth = 0.0
    while warmth < wanted - 1e-6:
        warmth += max(0.0, NORMALS[(day + dt.timedelta(days=forth)).month - 1] - base)
        forth += 1

    # Day-by-day addition rounds in the last digit: a day's difference at the edge is not an error.
    assert abs(days_for_degree_days(np.datetime64(day), wanted, base, NORMALS).item() - back) <= _slack(wanted)
    assert abs(days_until_degree_days(np.datetime64(day), wanted, base, NORMALS).item() - forth) <= _slack(wanted)


def _slack(wanted: float) -> int:
    return 0 if wanted > 1e-5 or wanted == 0 else 365


def test_places_and_lines_broadcast() -> None:
    cold = [one - 5 for one in NORMALS]

    found = days_for_degree_days(["2027-10-01", "2027-10-01"], [500.0, 500.0], 10, [NORMALS, cold])

    assert found.tolist() == [
        days_for_degree_days("2027-10-01", 500, 10, normals).item() for normals in (NORMALS, cold)
    ]


def test_eleven_months_are_refused() -> None:
    with pytest.raises(ValueError, match="twelve"):
        days_for_degree_days("2027-10-01", 500, 10, NORMALS[:11])
