"""Standard times: hours from amounts."""

from __future__ import annotations

import numpy as np
import pytest

from nursery.planning.work.times import COMMON_PRACTICE, WORKING_TIMES, StandardTime, hours
from nursery.planning.work.words import Job, Unit


def test_every_job_has_a_working_time_that_says_it_has_no_source() -> None:
    assert list(WORKING_TIMES) == list(Job)
    assert {time.basis for time in WORKING_TIMES.values()} == {COMMON_PRACTICE}


def test_hours_are_the_amount_times_the_hours_of_a_thousand() -> None:
    own = {Job.SOW: StandardTime(3.0, Unit.CELLS)}
    assert hours(Job.SOW, [0, 500, 2000], own).tolist() == [0.0, 1.5, 6.0]


def test_each_amount_may_be_of_its_own_job() -> None:
    own = {Job.SOW: StandardTime(3.0, Unit.CELLS), Job.COUNT: StandardTime(10.0, Unit.TRAYS)}
    assert hours([Job.COUNT, Job.SOW], [50, 100], own).tolist() == [0.5, 0.3]


@pytest.mark.parametrize("amount", [-1.0, np.nan, np.inf])
def test_an_amount_that_cannot_be_is_refused(amount: float) -> None:
    with pytest.raises(ValueError, match="below zero or not finite"):
        hours(Job.SOW, amount)
