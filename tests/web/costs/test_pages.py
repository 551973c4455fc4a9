"""The page of costs."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Expense, Preferences, WorkTime
from nursery.planning.work.words import Job


@pytest.fixture
def batch(session: Session, maker: Any) -> Any:
    """400 oaks of 800 seeds; 5 hours, and 12.34 of its own."""
    session.add(Preferences(wage_per_hour=14.0, overhead=0.15, cost_seed=0.02, volunteer_per_hour=10.0))
    site = maker.site(name="Bank")
    target = maker.target(site=site, funder="River fund")
    batch = maker.batch(code="B-77", seeds=800, alive=400, target_id=target.id)
    day = dt.date(2026, 11, 3)
    session.add(WorkTime(worked_on=day, job=Job.SOW, hours=5, person="Ana", batch_id=batch.id))
    session.add(Expense(spent_on=day, what="Cork mats", amount=12.34, batch_id=batch.id))
    session.commit()
    return batch


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_nothing_on_record_says_what_to_do_first(client: Any) -> None:
    assert "Nothing to cost yet" in client.get("/costs").text


def test_the_cost_of_a_plant_so_far_is_told_with_its_parts(client: Any, batch: Any) -> None:
    # 70.00 + 16.00 + 12.34 = 98.34; 15 % are 14.75; 113.09 for 400 plants are 0.283.
    text = text_of(client.get("/costs").text)
    assert "Quercus suber" in text
    assert ("€113.09" in text, "€0.283" in text, "5 h, €14.00 an hour on average" in text) == (True, True, True)
    assert "800 seeds, €0.020 each on average" in text


@pytest.mark.parametrize(("by", "label"), [("batch", "B-77"), ("site", "Bank"), ("funder", "River fund")])
def test_the_same_sum_by_batch_site_and_funder(client: Any, batch: Any, by: str, label: str) -> None:
    rows = list(csv.reader(io.StringIO(client.get(f"/costs.csv?by={by}").text.lstrip("\ufeff"))))
    assert [row[0] for row in rows[1:]] == [label, "All together"]
    assert rows[1][16] == rows[2][16] == "113.09"


def test_another_season_has_other_batches(client: Any, batch: Any) -> None:
    assert "Quercus suber" in client.get("/costs?season=2027").text
    assert "Quercus suber" not in text_of(client.get("/costs?season=2028").text)


def test_money_is_written_as_the_reader_writes_it(client: Any, batch: Any) -> None:
    client.submit("/language", {"language": "pt", "next": "/costs"}, page="/costs")
    assert "113,09\u00a0€" in client.get("/costs").text
