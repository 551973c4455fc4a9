"""The contrast of WCAG 2.2, and the colours it refuses."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.services.contrast import colour_refusal, contrast

COLOURS = st.builds("#{:02x}{:02x}{:02x}".format, *[st.integers(0, 255)] * 3)


def test_black_and_white_are_furthest_apart() -> None:
    # W3C, WCAG 2.2: contrast ratios range from 1 to 21.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@given(COLOURS, COLOURS)
def test_contrast_is_the_same_both_ways_and_never_below_one(one: str, other: str) -> None:
    assert contrast(one, other) == contrast(other, one)
    assert 1 <= contrast(one, other) <= 21 + 1e-9
    assert contrast(one, one) == 1


def test_the_products_own_colour_and_none_are_taken() -> None:
    assert colour_refusal("#1d5547") == ""
    assert colour_refusal("") == ""


def test_a_pale_colour_is_refused_with_its_contrast_and_a_remedy() -> None:
    told = colour_refusal("#ffcc00")
    assert "too pale" in told
    assert "4.5 to 1" in told
    assert "darker" in told


@pytest.mark.parametrize("text", ["green", "#12", "#12345", "1d5547", "#1d5547;}"])
def test_what_is_no_colour_is_refused_with_an_example(text: str) -> None:
    assert "#1d5547" in colour_refusal(text)
