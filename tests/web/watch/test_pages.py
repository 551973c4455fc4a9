"""The seed watch as a page, as files and on the season page."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Lot


@pytest.fixture
def watched(session: Session, maker: Any) -> list[Lot]:
    """Acorns past their day, and seed that nobody has tested since the spring of last year."""
    acorns = maker.lot(
        code="ACORNS", collected_on=dt.date(2026, 1, 10), germination=0.9, tested_on=dt.date(2026, 2, 1),
        ripening_year=2025,
    )  # fmt: skip
    hips = maker.lot(
        population=maker.population(species=maker.species("rosa-canina")), code="HIPS",
        collected_on=dt.date(2025, 2, 1), ripening_year=2024, germination=0.6, tested_on=dt.date(2025, 4, 1),
    )  # fmt: skip
    session.commit()
    return [acorns, hips]


def test_each_lot_is_there_with_its_reason_and_its_way(client: Any, watched: list[Lot]) -> None:
    page = client.get("/watch").text

    found = re.findall(r'<th scope="row"><a class="code" href="/lots/(\d+)">(\w+)</a>', page)
    assert found == [(str(lot.id), lot.code) for lot in watched]
    assert "Past its best" in page
    assert "2 reasons to look" in page


def test_a_reason_may_be_chosen_and_nonsense_counts_as_all(client: Any, watched: list[Lot]) -> None:
    def codes(address: str) -> list[str]:
        return re.findall(r'<a class="code" href="/lots/\d+">(\w+)</a>', client.get(address).text)

    assert codes("/watch?reason=retest") == ["HIPS"]
    assert codes("/watch?reason=misplaced") == []
    assert codes("/watch?reason=nonsense") == ["ACORNS", "HIPS"]


def test_the_file_holds_what_was_chosen(client: Any, watched: list[Lot]) -> None:
    answer = client.get("/watch.csv?reason=past")

    rows = list(csv.reader(io.StringIO(answer.get_data(as_text=True))))
    assert [row[:5] for row in rows[1:]] == [["ACORNS", "Quercus suber", "", "Past its best", "2026-07-01"]]
    assert client.get("/watch.xlsx").status_code == 200


def test_without_anything_to_watch_the_page_says_so(client: Any) -> None:
    assert "Nothing to look at" in client.get("/watch").text
