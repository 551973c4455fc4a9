"""Sizes seen at grading are held against the count: more is refused, less is told, and so is what dies since."""

from __future__ import annotations

import html
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Count
from tests.web.batches.conftest import Floor
from tests.web.batches.test_acts import DAY


def grade(client: Any, floor: Floor, sizes: str, plants: int = 300) -> Any:
    typed = {"stage": "ready", "plants": str(plants), "counted_on": DAY, "trays": "10", "cause": "unknown"}
    return client.submit(
        f"/batches/{floor.batch.id}/count", {**typed, "grades": sizes}, follow_redirects=True
    )  # fmt: skip


@pytest.mark.parametrize(
    ("sizes", "told"),
    [
        ("small 100, large 201", "The grades come to 301 plants, more than were counted. Check them."),
        ("small 100, large 90, Small 20", "“Small” stands twice. Add its plants up, and write it once."),
    ],
)
def test_sizes_that_cannot_be_are_refused_and_stay_typed(
    client: Any, session: Session, floor: Floor, sizes: str, told: str
) -> None:
    answer = grade(client, floor, sizes)

    assert answer.status_code == 422
    assert told in html.unescape(answer.text)
    assert sizes in html.unescape(answer.text)
    assert session.scalar(select(Count.id)) is None


def test_plants_without_a_size_are_told_when_saved_and_on_the_page(client: Any, floor: Floor) -> None:
    page = html.unescape(grade(client, floor, "small 100, large 160").text)

    assert "40 of them have no size: the sizes come to less than was counted." in page
    assert "size small: 100, size large: 160, no size: 40" in page
    assert "Sizes older than the plants" not in page


def test_sizes_that_fit_the_count_are_saved_without_a_word_more(client: Any, floor: Floor) -> None:
    page = grade(client, floor, "small 100, large 200").text

    assert "have no size" not in page
    assert "no size:" not in page


def test_sizes_of_more_plants_than_are_alive_are_told(client: Any, floor: Floor) -> None:
    grade(client, floor, "small 100, large 200")
    lost = {"plants": "30", "cause": "frost", "happened_on": DAY}
    client.submit(f"/batches/{floor.batch.id}/act/lose", lost)

    page = html.unescape(client.get(f"/batches/{floor.batch.id}").text)

    assert "Sizes older than the plants" in page
    assert "come to 300 plants, and 270 are alive now." in page
