"""The forecast turned round: how long until a share of the tested viability is left."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from nursery.planning.keeping import days_to_share, forecast
from nursery.planning.storage import sigma_days

shares = st.floats(0.05, 0.95)
tested = st.floats(0.05, 0.999)


@given(v0=tested, share=shares, sigma=st.floats(1, 1e5))
def test_at_the_day_found_just_the_share_is_left_by_the_equation(v0: float, share: float, sigma: float) -> None:
    days = days_to_share(v0, share, sigma, 100.0)

    assert forecast(v0, days, sigma, 100.0) == pytest.approx(share * v0, rel=1e-6)


@given(v0=tested, share=shares, life=st.floats(1, 1e5))
def test_at_the_day_found_just_the_share_is_left_by_the_life(v0: float, share: float, life: float) -> None:
    days = days_to_share(v0, share, np.nan, life)

    assert forecast(v0, days, np.nan, life) == pytest.approx(share * v0, rel=1e-6)


def test_half_is_left_after_the_life_itself() -> None:
    assert days_to_share([0.3, 0.9, 1.0], 0.5, np.nan, 150.0) == pytest.approx([150, 150, 150])


def test_half_of_all_seed_lives_after_ki_sigma() -> None:
    # Ki·σ of the equation (Ellis & Roberts 1980) is the time to 50 %: from 80 %, half of 80 % comes later.
    assert days_to_share(0.8, 0.625, 100.0, 1.0) == pytest.approx(100 * norm.ppf(0.8))


def test_seed_in_a_freezer_keeps_as_much_longer_as_the_coefficients_say() -> None:
    # ×2.38 from 10 to 0 °C: computed from the universal coefficients of Dickie et al. 1990, Ann. Bot. 65:197–204.
    warm, cool = (days_to_share(0.9, 0.8, sigma_days(6, t, ke=8, cw=4), 1.0) for t in (10, 0))

    assert cool / warm == pytest.approx(2.38, abs=0.005)


def test_the_equation_goes_before_the_life_lot_by_lot() -> None:
    found = forecast([0.9, 0.9], [50, 50], [np.nan, 100.0], [50.0, 50.0])

    assert found == pytest.approx([0.45, norm.cdf(norm.ppf(0.9) - 0.5)])


def test_dead_seed_has_no_days_left_and_ageless_seed_has_no_end() -> None:
    assert days_to_share([0.0, 0.9], 0.8, np.nan, [100.0, np.inf]).tolist() == [0.0, np.inf]


@pytest.mark.parametrize("share", [0.0, 1.0, 1.5])
def test_shares_at_the_ends_are_refused(share: float) -> None:
    with pytest.raises(ValueError, match="share"):
        days_to_share(0.9, share, 10.0, 10.0)
