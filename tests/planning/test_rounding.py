from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.rounding import whole


def test_whole_things_are_rounded_up_but_for_floating_point_dust() -> None:
    assert whole([0, 0.1, 1, 1.1, 2 + 1e-10, 2 + 1e-8]).tolist() == [0, 1, 1, 2, 2, 3]


def test_a_sum_of_tenths_does_not_buy_another_tray() -> None:
    assert whole(0.1 * 3 / 0.1).item() == 3


@given(st.floats(0, 1e12))
def test_whole_is_never_below_and_less_than_one_above(x: float) -> None:
    assert whole(x).item() - x + 1e-12 * x + 1e-8 >= -1e-8
    assert whole(x).item() - x < 1


@pytest.mark.parametrize("bad", [np.nan, np.inf, 1e17])
def test_what_cannot_be_counted_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="too large to count"):
        whole([1.0, bad])
