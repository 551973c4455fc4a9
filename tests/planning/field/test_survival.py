"""Survival in plots, and the plants that make up for losses."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from nursery.planning.field.survival import missing_plants, sample_of, shared_out, survival_rates
from nursery.planning.intervals import wilson_interval


@given(planted=st.integers(1, 2000), part=st.floats(0, 1))
def test_the_interval_is_that_of_scipys_binomial_test(planted: int, part: float) -> None:
    alive = round(planted * part)

    found = survival_rates(planted, alive)

    outside = binomtest(alive, planted).proportion_ci(confidence_level=0.95, method="wilson")
    assert (found.low, found.high) == pytest.approx((outside.low, outside.high), abs=1e-9)
    assert found.rate == alive / planted
    assert found.low <= found.rate <= found.high


@pytest.mark.parametrize(
    ("alive", "planted", "low", "high"),
    # (x + z²/2) ÷ (n + z²) ± z ÷ (n + z²) · √(x(n − x)/n + z²/4) with z = 1.96, put into numbers elsewhere.
    [(24, 30, 0.6269, 0.9049), (0, 30, 0.0, 0.1135), (30, 30, 0.8865, 1.0), (45, 50, 0.7864, 0.9565)],
)
def test_small_plots_by_the_formula(alive: int, planted: int, low: float, high: float) -> None:
    found = survival_rates(planted, alive)

    assert (round(float(found.low), 4), round(float(found.high), 4)) == (low, high)


def test_species_are_worked_together() -> None:
    found = survival_rates([40, 60], [10, 54])

    assert found.rate.tolist() == [0.25, 0.9]
    assert np.array_equal(found.low, wilson_interval([10, 54], [40, 60])[0])


def test_more_alive_than_planted_is_refused() -> None:
    with pytest.raises(ValueError, match="exceed"):
        survival_rates(10, 11)


def test_a_sample_is_thirty_to_fifty_plants_or_all_there_are() -> None:
    found = sample_of([12, 40, 1200])

    assert found.least.tolist() == [12, 30, 30]
    assert found.better.tolist() == [12, 40, 50]
    assert list(zip(found.share_low.tolist(), found.share_high.tolist(), strict=True)) == [
        (1, 2),
        (2, 4),
        (60, 120),
    ]


def test_losses_in_plots_are_scaled_to_the_site() -> None:
    seen = survival_rates(50, 20)

    # 500 planted, 70 % should live: 350; 40 % do: 200; of replacements 70 % will: 150 ÷ 0.7.
    found = missing_plants(500, seen, standing=0, wanted=350, rate=0.7)

    assert int(found.plants) == 215
    assert int(found.low) < 215 < int(found.high)


def test_replacements_that_live_stand_in_for_the_dead_and_leave_survival_alone() -> None:
    seen = survival_rates(50, 20)

    without = missing_plants(500, seen, standing=0, wanted=500, rate=1)
    beside = missing_plants(500, seen, standing=5 / 50, wanted=500, rate=1)

    assert (int(without.plants), int(beside.plants)) == (300, 250)


@given(
    planted=st.integers(1, 5000),
    part=st.floats(0, 1),
    scale=st.integers(1, 40),
    wished=st.floats(0, 1),
    rate=st.floats(0.05, 1),
)
def test_replacements_bring_survivors_up_to_the_wish(
    planted: int, part: float, scale: int, wished: float, rate: float
) -> None:
    alive = round(planted * part)
    site = planted * scale
    wanted = wished * site

    found = missing_plants(site, survival_rates(planted, alive), standing=0, wanted=wanted, rate=rate)

    expected = alive * scale + int(found.plants) * rate
    assert expected >= wanted - 1e-6
    assert int(found.plants) == 0 or expected - rate < wanted + 1e-6
    assert found.low <= found.plants <= found.high


@given(plants=st.integers(0, 10_000), weights=st.lists(st.integers(0, 500), min_size=1, max_size=12))
def test_plants_are_shared_out_to_the_last_one(plants: int, weights: list[int]) -> None:
    shares = shared_out(plants, weights)

    assert shares.sum() == plants
    assert np.all(shares >= 0)
    if sum(weights):
        assert np.all(np.abs(shares - plants * np.array(weights) / sum(weights)) <= 1 + 1e-6)
