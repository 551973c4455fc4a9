from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from nursery.planning.intervals import wilson_interval


@given(trials=st.integers(1, 5000), part=st.floats(0, 1), confidence=st.floats(0.5, 0.999))
def test_wilson_agrees_with_statsmodels(trials: int, part: float, confidence: float) -> None:
    successes = round(part * trials)

    low, high = wilson_interval(successes, trials, confidence)

    assert (low, high) == pytest.approx(
        proportion_confint(successes, trials, alpha=1 - confidence, method="wilson"), abs=1e-9
    )
    assert 0 <= low <= successes / trials <= high <= 1


def test_surveys_are_worked_together() -> None:
    low, high = wilson_interval([0, 5, 10], 10)

    assert low[0] == 0
    assert high[2] == 1
    assert np.all(low < high)


@pytest.mark.parametrize(
    ("successes", "trials", "confidence", "name"),
    [(11, 10, 0.95, "exceed"), (1, 0, 0.95, "trials"), (-1, 10, 0.95, "successes"), (1, 10, 1, "confidence")],
)
def test_impossible_counts_are_refused(successes: int, trials: int, confidence: float, name: str) -> None:
    with pytest.raises(ValueError, match=name):
        wilson_interval(successes, trials, confidence)
