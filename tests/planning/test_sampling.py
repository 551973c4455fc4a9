from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as student

from nursery.planning.sampling import in_finite_frame, inventory, samples_needed, students_t


@pytest.mark.parametrize(
    ("mean", "variance", "n", "published"),
    [
        # Colorado Division of Reclamation, Mining & Safety, vegetation sampling by Cedar Creek Associates for
        # Colowyo (documents 1250747 p. 52 and 1139341 p. 82): one-tailed 90 %, precision 0.1.
        (48.83, 188.06, 72, 13.20),
        (35.4, 79.1, 30, 10.87),
        (60.1, 270.2, 30, 12.9),
        (38.7, 58.0, 30, 6.7),
        (47.8, 248.1, 30, 18.7),
    ],
)
def test_sample_sizes_of_the_published_filings(mean: float, variance: float, n: int, published: float) -> None:
    # One-tailed 90 % is two-sided 80 %; means and variances are printed rounded.
    found = samples_needed(mean, variance, n, precision=0.1, confidence=0.8)

    assert found == pytest.approx(published, abs=0.05)


def test_t_agrees_with_scipy_stats() -> None:
    assert students_t(0.95, [2, 10, 100]) == pytest.approx(student.ppf(0.975, [1, 9, 99]))


def test_an_inventory_by_hand() -> None:
    # mean 36, s² = 46/3; half = 3.18245 · 200 · √((1 − 4/200) · 15.3333 ÷ 4)
    found = inventory([38, 40, 35, 31], 200)

    half = student.ppf(0.975, 3) * 200 * np.sqrt((1 - 4 / 200) * 46 / 3 / 4)
    assert found.total == 7200
    assert (found.low, found.high) == pytest.approx((7200 - half, 7200 + half))
    # (3.18245² · 15.3333) ÷ 3.6² = 11.98 → ÷ (1 + 11.98/200) = 11.3 → 12
    assert found.samples_needed == 12


def test_a_census_is_certain() -> None:
    found = inventory([38, 40, 35, 31], 4)

    assert (found.low, found.total, found.high) == (144, 144, 144)
    assert found.samples_needed <= 4


def test_empty_trays_hold_nothing() -> None:
    found = inventory([0, 0, 0], 50)

    assert (found.total, found.low, found.high, found.samples_needed) == (0, 0, 0, 1)


@given(
    counts=st.lists(st.integers(0, 60), min_size=2, max_size=30),
    more=st.integers(0, 500),
    confidence=st.floats(0.5, 0.99),
)
def test_the_total_lies_inside_its_interval(counts: list[int], more: int, confidence: float) -> None:
    found = inventory(counts, len(counts) + more, confidence=confidence)

    assert 0 <= found.low <= found.total + 1e-9
    assert found.total <= found.high + 1e-9
    assert 1 <= found.samples_needed <= len(counts) + more


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    rng = np.random.default_rng(11)
    frame = rng.binomial(60, 0.8, 300)

    held = 0
    for _ in range(2000):
        found = inventory(rng.choice(frame, 12, replace=False), 300)
        held += found.low <= frame.sum() <= found.high

    assert held / 2000 == pytest.approx(0.95, abs=0.02)


def test_a_small_frame_needs_fewer_samples() -> None:
    assert in_finite_frame([20, 20], [20, 1e9]).tolist() == [10, 20]


@pytest.mark.parametrize(
    ("counts", "frame", "confidence", "name"),
    [([5], 10, 0.95, "two sampled"), ([5, 6], 1, 0.95, "frame"), ([5, 6], 10, 1.0, "confidence")],
)
def test_impossible_samples_are_refused(counts: list[int], frame: int, confidence: float, name: str) -> None:
    with pytest.raises(ValueError, match=name):
        inventory(counts, frame, confidence=confidence)
