from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.calendars import DatedPhase, Phase, Warmth, schedule, schedule_lines
from nursery.planning.degree_days import days_for_degree_days
from nursery.planning.months import mask_of, months_of

NORMALS = [8.0, 9.5, 12.0, 14.0, 18.0, 22.5, 25.5, 25.0, 22.0, 17.0, 12.0, 8.5]

phases = st.lists(
    st.builds(Phase, st.just("phase"), st.integers(0, 400), st.lists(st.integers(1, 12), max_size=4).map(tuple)),
    min_size=1,
    max_size=6,
)


def test_warm_and_cold_stratification_of_the_longest_sleepers_starts_two_years_back() -> None:
    # Forest Research (UK), Seed Storage database: 24 weeks at 15 °C + 40 weeks at 4 °C before sowing on 1 March
    # start on 6 December two years back. The source rounds: 3 days are allowed.
    dated = schedule(dt.date(2027, 3, 1), [Phase("warm", 24 * 7), Phase("cold", 40 * 7)])

    assert abs((dated[0].start - dt.date(2025, 12, 6)).days) <= 3


def test_six_weeks_before_the_first_of_march_are_the_18th_of_january() -> None:
    # Forest Research (UK), Seed Storage database, Metasequoia glyptostroboides.
    assert schedule(dt.date(2027, 3, 1), [Phase("cold", 42)])[0].start == dt.date(2027, 1, 18)


def test_a_phase_waits_at_its_end_when_its_months_end_too_early() -> None:
    dated = schedule(
        dt.date(2027, 11, 15),
        [Phase("cold", 42), Phase("emergence", 20, (2, 3)), Phase("growing", 150), Phase("hardening", 30)],
    )

    assert dated == [
        DatedPhase("cold", dt.date(2027, 2, 17), dt.date(2027, 3, 31), 0),
        DatedPhase("emergence", dt.date(2027, 3, 31), dt.date(2027, 5, 19), 29),
        DatedPhase("growing", dt.date(2027, 5, 19), dt.date(2027, 10, 16), 0),
        DatedPhase("hardening", dt.date(2027, 10, 16), dt.date(2027, 11, 15), 0),
    ]


def test_a_window_of_last_year_is_taken_when_this_years_is_missed() -> None:
    dated = schedule(dt.date(2027, 2, 1), [Phase("sowing", 60, (3,))])

    assert (dated[0].start, dated[0].wait_days) == (dt.date(2026, 3, 31), 247)


@given(plant_on=st.dates(dt.date(2000, 1, 1), dt.date(2080, 1, 1)), given_phases=phases)
def test_phases_meet_fit_and_start_as_late_as_they_may(plant_on: dt.date, given_phases: list[Phase]) -> None:
    dated = schedule(plant_on, given_phases)

    assert dated[-1].end == plant_on
    assert [one.end for one in dated[:-1]] == [one.start for one in dated[1:]]
    for phase, one in zip(given_phases, dated, strict=True):
        assert one.wait_days == (one.end - one.start).days - phase.days >= 0
        allowed = set(phase.months) or set(range(1, 13))
        assert one.start.month in allowed
        later = (one.start + dt.timedelta(days=day) for day in range(1, one.wait_days + 1))
        assert [day for day in later if day.month in allowed] == []


def test_lines_are_dated_together_as_one_by_one() -> None:
    rng = np.random.default_rng(3)
    plant_on = np.datetime64("2027-11-01") + rng.integers(0, 700, 60)
    days = rng.integers(0, 200, (60, 5))
    months = rng.integers(0, 4096, (60, 5))

    together = schedule_lines(plant_on, days, months)

    for row in range(60):
        alone = schedule(
            plant_on[row].item(),
            [
                Phase("", int(day), tuple(months_of(int(mask))))
                for day, mask in zip(days[row], months[row], strict=True)
            ],
        )
        assert together.start[row].tolist() == [one.start for one in alone]
        assert together.wait_days[row].tolist() == [one.wait_days for one in alone]


def test_a_phase_can_be_measured_in_warmth() -> None:
    warmth = Warmth([0, 1200.0, 0], 8, NORMALS)

    found = schedule_lines("2027-11-15", [30, 0, 30], 0, warmth)

    grown = days_for_degree_days("2027-10-16", 1200, 8, NORMALS).item()
    assert found.days.tolist() == [[30, grown, 30]]
    assert found.start[0, 1].item() == dt.date(2027, 10, 16) - dt.timedelta(days=grown)


def test_warmth_that_starts_early_grows_slower_and_waits_only_what_is_left() -> None:
    warmth = Warmth([600.0], 8, NORMALS)

    found = schedule_lines("2027-10-01", [0], mask_of([1]), warmth)

    # From 31 January: 0 + 28 × 1.5 + 31 × 4 + 30 × 6 = 346 by the end of April; 254 ÷ 10 → 26 days of May.
    assert found.start.item() == dt.date(2027, 1, 31)
    assert found.days.item() == 1 + 28 + 31 + 30 + 26
    assert found.wait_days.item() == (dt.date(2027, 10, 1) - dt.date(2027, 1, 31)).days - found.days.item()


def test_a_place_too_cold_has_no_dates() -> None:
    found = schedule_lines(["2027-10-01"], [10, 0], 0, Warmth([0, 600.0], 40, NORMALS))

    assert np.isnat(found.start).tolist() == [[True, True]]
    assert found.wait_days.tolist() == [[0, 0]]


def test_no_phases_give_no_dates() -> None:
    assert schedule(dt.date(2027, 1, 1), []) == []


def test_negative_days_are_refused() -> None:
    with pytest.raises(ValueError, match="days"):
        schedule(dt.date(2027, 1, 1), [Phase("backward", -1)])
