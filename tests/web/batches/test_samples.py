"""What is typed of a sample of trays: parted as keypads allow, refused in words where it cannot be plants."""

from __future__ import annotations

import html
from typing import Any

import pytest

from tests.web.batches.conftest import Floor
from tests.web.batches.test_acts import DAY


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("38 -3 40", "“-3” is below zero. Type the plants of each tray: 0 or more."),
        ("12.5 38", "“12.5” can be two trays or part of a plant."),
        ("12,5", "Type whole numbers with a blank between, or two points: 12..5."),
        ("1e+17", "“1e” is not a number of plants. Type whole numbers."),
        ("38 100000000000000000", "“100000000000000000” is more than any tray holds. Check the number."),
    ],
)
def test_a_sample_that_cannot_be_plants_is_refused_in_words(
    client: Any, floor: Floor, typed: str, told: str
) -> None:
    answer = client.submit(
        f"/batches/{floor.batch.id}/count",
        {"stage": "emerged", "sample": typed, "counted_on": DAY, "trays": "10", "cause": "unknown"},
    )
    assert answer.status_code == 422
    assert told in html.unescape(answer.text)


@pytest.mark.parametrize(
    "typed", ["30 36 25", "30.36.25", "30, 36, 25", "30,36,25.", "30-36-25", "30+36/25", "30;36..25"]
)
def test_trays_of_a_sample_are_parted_as_the_keypad_allows(client: Any, floor: Floor, typed: str) -> None:
    page = client.submit(
        f"/batches/{floor.batch.id}/count",
        {"stage": "emerged", "sample": typed, "counted_on": DAY, "trays": "10", "cause": "unknown"},
        follow_redirects=True,
    ).text
    assert "Saved: 303 plants" in page


def test_a_number_that_nobody_can_read_is_named_by_its_digits(client: Any, floor: Floor) -> None:
    typed = {"stage": "emerged", "plants": "1e17", "counted_on": DAY, "trays": "10", "cause": "unknown"}
    page = client.submit(f"/batches/{floor.batch.id}/count", typed).text
    assert "A number of 18 digits is out of range. Give a number from 0 to 10,000,000." in page
