"""Weights and counts as a person reads them."""

from __future__ import annotations

import pytest

from nursery.services.permits.words import quantity


@pytest.mark.parametrize(
    ("milligrams", "text"),
    [
        (0, "0 g"), (7, "0.007 g"), (1_234, "1.23 g"), (27_608, "27.6 g"), (345_678, "346 g"), (999_600, "1 kg"),
        (2_345_678, "2.35 kg"), (44_290_000, "44.29 kg"),
    ],
)  # fmt: skip
def test_weights_are_rounded_to_what_a_person_weighs(milligrams: int, text: str) -> None:
    assert quantity(milligrams, by_weight=True) == text


def test_pieces_are_counted() -> None:
    assert [quantity(number, by_weight=False) for number in (1, 1280)] == ["1 piece", "1,280 pieces"]
