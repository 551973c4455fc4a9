from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.months import (
    ANY,
    in_months,
    last_day_in_months,
    mask_of,
    months_of,
    next_day_in_months,
    shift_hemisphere,
)

days = st.dates(dt.date(1990, 1, 1), dt.date(2100, 12, 31))
masks = st.integers(0, 4095)


def test_a_mask_holds_its_months() -> None:
    assert mask_of([1, 3, 12]) == 0b1000_0000_0101
    assert months_of(mask_of([12, 3, 1, 3])) == [1, 3, 12]
    assert months_of(ANY) == list(range(1, 13))


@pytest.mark.parametrize("month", [0, 13, -1])
def test_there_is_no_such_month(month: int) -> None:
    with pytest.raises(ValueError, match="from 1 to 12"):
        mask_of([month])


def test_a_mask_beyond_december_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 4095"):
        in_months("2027-01-01", 4096)


def test_the_south_sows_six_months_later() -> None:
    shifted = shift_hemisphere([mask_of([2, 3]), mask_of([9]), ANY], [True, False, True])

    assert [months_of(mask) if mask else [] for mask in shifted.tolist()] == [[8, 9], [9], []]


@given(mask=masks)
def test_twice_across_the_equator_is_home_again(mask: int) -> None:
    assert shift_hemisphere(shift_hemisphere(mask)).item() == mask


@given(day=days, mask=masks)
def test_the_last_and_next_day_are_those_found_by_walking(day: dt.date, mask: int) -> None:
    allowed = months_of(mask)
    back, forth = day, day
    while back.month not in allowed:
        back -= dt.timedelta(days=1)
    while forth.month not in allowed:
        forth += dt.timedelta(days=1)

    assert last_day_in_months(np.datetime64(day), mask).item() == back
    assert next_day_in_months(np.datetime64(day), mask).item() == forth


def test_an_unknown_day_stays_unknown() -> None:
    assert np.isnat(last_day_in_months(["NaT", "2027-05-05"], mask_of([2]))).tolist() == [True, False]
