from __future__ import annotations

import numpy as np

from nursery.planning.growing.ready_days import ready_days
from nursery.planning.work.ahead import date_ahead


def test_phases_follow_each_other_from_the_day_of_the_stage_and_end_on_the_forecast_s_ready_day() -> None:
    since = np.array(["2027-03-01", "2027-03-01"], "datetime64[D]")
    days = np.array([[20, 100, 30], [20, 0, 30]])
    degree_days = np.array([[0.0, 0.0, 0.0], [0.0, 500.0, 0.0]])
    base, normals = np.full((2, 3), 5.0), np.full((2, 12), 15.0)

    found = date_ahead(since, days, degree_days, base, normals)

    assert found.astype(str).tolist() == [
        ["2027-03-01", "2027-03-21", "2027-06-29", "2027-07-29"],
        ["2027-03-01", "2027-03-21", "2027-05-10", "2027-06-09"],  # 10 °C above the base: 50 days
    ]
    assert found[:, -1].tolist() == ready_days(since, days, degree_days, base, normals).tolist()


def test_where_warmth_never_suffices_the_phases_after_it_have_no_day() -> None:
    found = date_ahead(
        np.array(["2027-03-01"], "datetime64[D]"), np.array([[0, 30]]), np.array([[100.0, 0.0]]),
        np.array([[20.0, 0.0]]), np.full((1, 12), 10.0),
    )  # fmt: skip

    assert np.isnat(found).tolist() == [[False, True, True]]
