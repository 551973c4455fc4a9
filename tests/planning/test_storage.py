from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from nursery.planning.storage import life_viability, p50_days, sigma_days, viability_after

YEAR = 365.25


@pytest.mark.parametrize(
    ("warm", "cool", "gain"),
    # Computed from the universal coefficients of Dickie et al. 1990, Ann. Bot. 65:197–204 (read second-hand).
    [(20, 10, 2.97), (10, 0, 2.38), (0, -10, 1.91), (-10, -20, 1.53)],
)
def test_cooling_by_ten_degrees_lengthens_life(warm: float, cool: float, gain: float) -> None:
    ratio = sigma_days(6, cool, ke=8, cw=4) / sigma_days(6, warm, ke=8, cw=4)

    assert ratio == pytest.approx(gain, abs=0.005)


@pytest.mark.parametrize(
    ("constants", "years_at_5_pct_5_c", "years_at_10_pct_20_c"),
    [
        # Species constants from memory: regression values only.
        ({"ke": 9.983, "cw": 5.896, "ch": 0.040, "cq": 0.000428}, 1226, 3.57),
        ({"ke": 6.975, "cw": 3.470, "ch": 0.040, "cq": 0.000428}, 59.7, 0.94),
    ],
)
def test_sigma_keeps_its_remembered_values(
    constants: dict[str, float], years_at_5_pct_5_c: float, years_at_10_pct_20_c: float
) -> None:
    assert sigma_days(5, 5, **constants) / YEAR == pytest.approx(years_at_5_pct_5_c, rel=0.005)
    assert sigma_days(10, 20, **constants) / YEAR == pytest.approx(years_at_10_pct_20_c, rel=0.01)


@given(v0=st.floats(0.01, 0.999), days=st.floats(0, 1e5), sigma=st.floats(1, 1e5))
def test_viability_is_the_normal_integral(v0: float, days: float, sigma: float) -> None:
    assert viability_after(v0, days, sigma) == pytest.approx(norm.cdf(norm.ppf(v0) - days / sigma), abs=1e-12)


@given(v0=st.floats(0.01, 0.999), sigma=st.floats(1, 1e5))
def test_half_of_all_seed_lives_at_p50(v0: float, sigma: float) -> None:
    half = float(p50_days(v0, sigma))

    assert half == pytest.approx(norm.ppf(v0) * sigma)
    assert half < 0 or viability_after(v0, half, sigma) == pytest.approx(min(0.5, v0))


def test_all_none_and_no_time_stay_what_they_were() -> None:
    assert viability_after([0, 1, 0.8, 0.8], [50, 50, 0, -5], 10).tolist() == [0, 1, 0.8, 0.8]


@given(v0=st.floats(0.001, 1), life=st.floats(1, 1e5))
def test_exactly_half_is_left_after_the_life(v0: float, life: float) -> None:
    assert life_viability(v0, life, life) == pytest.approx(v0 / 2)


@given(v0=st.floats(0, 1), life=st.floats(1, 1e4))
def test_seed_never_gets_better_in_store(v0: float, life: float) -> None:
    course = life_viability(v0, np.linspace(-1, 3 * life, 50), life)

    assert np.all(np.diff(course) <= 1e-12)
    assert np.all((course >= 0) & (course <= v0))


def test_seed_of_endless_life_keeps() -> None:
    assert life_viability([0.9, 0.0], 1e6, np.inf) == pytest.approx([0.9, 0.0])


def test_life_and_time_broadcast_over_lots() -> None:
    found = life_viability([0.9, 0.8], [[0.0], [100.0]], [100, 200])

    assert found[0].tolist() == [0.9, 0.8]
    assert found[1, 0] == pytest.approx(0.45)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: sigma_days(0, 5, ke=8, cw=4), "moisture_pct"),
        (lambda: viability_after(1.1, 5, 10), "viability"),
        (lambda: viability_after(0.5, 5, 0), "sigma"),
        (lambda: life_viability(0.5, 5, 0), "life_days"),
    ],
)
def test_values_outside_their_range_are_refused(call: object, name: str) -> None:
    with pytest.raises(ValueError, match=name):
        call()  # type: ignore[operator]
