"""The page of “what if”."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.config import Settings
from nursery.models import Species, Target
from tests.applications import lent
from tests.databases import Kept
from tests.web.conftest import Browser


@pytest.fixture
def demo(demo_file: Kept, tmp_path: Path, today: dt.date) -> Iterator[Flask]:
    settings = Settings(
        database_url=demo_file.copy(tmp_path), data_dir=tmp_path, secret_key="a secret for tests only"
    )
    with lent(settings, today=today) as app:
        app.test_client_class = Browser
        yield app


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_without_targets_it_says_what_to_do_first(client: Any) -> None:
    assert "No open targets" in client.get("/what-if").text


def test_a_change_is_shown_side_by_side_and_can_be_taken_over(demo: Flask) -> None:
    client: Any = demo.test_client()
    assert "Choose a species" in client.get("/what-if").text
    page = client.get("/what-if?species=quercus-suber").text
    assert "Choose what is to be otherwise" in page
    tried = client.get("/what-if?species=quercus-suber&assurance=99").text
    assert ("Side by side" in tried, "Bench while growing" in text_of(tried)) == (True, True)
    fields = dict(re.findall(r'<input type="hidden" name="(species|assurance)" value="([^"]*)"', tried))
    assert fields == {"species": "quercus-suber", "assurance": "99"}
    answer = client.submit("/what-if/take-over", fields, page="/what-if?species=quercus-suber&assurance=99")
    assert answer.location == "/targets?species=quercus-suber"
    with Session(demo.extensions["nursery_sessions"].kw["bind"]) as session:
        asked = session.scalars(
            select(Target.assurance)
            .join(Species)
            .where(Species.key == "quercus-suber", Target.archived_at.is_(None))
        )
        assert set(asked) == {0.99}


def test_an_assurance_that_cannot_be_is_told_and_nothing_is_reckoned(demo: Flask) -> None:
    page = demo.test_client().get("/what-if?species=quercus-suber&assurance=100").text
    assert ("Give a number above 0 and below 100." in page, "Side by side" in page) == (True, False)


def test_nothing_chosen_changes_nothing(demo: Flask) -> None:
    client: Any = demo.test_client()
    answer = client.submit(
        "/what-if/take-over", {"species": "quercus-suber"}, page="/what-if?species=quercus-suber"
    )
    assert "Nothing was chosen" in client.get(answer.location).text
