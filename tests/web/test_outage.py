"""The database in trouble: a page that says what happened and who mends it, and nothing lost."""

from __future__ import annotations

import datetime as dt
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from html import unescape
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import event, func, select, text
from sqlalchemy.orm import Session

from nursery.app import create_app
from nursery.config import Settings
from nursery.models import Population, StoragePlace, Upload
from nursery.web.session import db
from tests.web.conftest import Browser

pytestmark = pytest.mark.sqlite
Serve = Callable[[Settings], tuple[Flask, Browser]]
PLACE = {"name": "Cellar <2>", "temperature_c": "4,5", "notes": "dry\n" * 10_000}


@pytest.fixture
def serve(today: dt.date) -> Iterator[Serve]:
    """An application as it runs for people, with nothing handed through to the test."""
    made = []

    def start(settings: Settings) -> tuple[Flask, Browser]:
        app = create_app(settings, today=today)
        app.test_client_class = Browser
        made.append(app)
        client = app.test_client()
        assert isinstance(client, Browser)
        return app, client

    yield start
    for app in made:
        engine_of(app).dispose()


def engine_of(app: Flask) -> Any:
    return app.extensions["nursery_sessions"].kw["bind"]


def fill_the_disk(app: Flask) -> Callable[[], None]:
    """SQLite may take no page more, as on a full disk; what is returned makes room again."""
    full = True

    def limit(connection: Any, *_rest: Any) -> None:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count={pages if full else 2**30}")

    def make_room() -> None:
        nonlocal full
        full = False

    event.listen(engine_of(app), "checkout", limit)
    return make_room


def typed_again(page: str) -> dict[str, str]:
    """The hidden fields of the form that sends once more."""
    form = re.search(r'<form method="post" action="[^"]*storage/new"[^>]*>(.*?)</form>', page, re.DOTALL)
    assert form
    found = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form[1])
    return {name: unescape(value) for name, value in found}


def test_on_a_full_disk_nothing_is_written_and_what_was_typed_is_sent_again_later(
    serve: Serve, settings: Settings, session: Session, caplog: pytest.LogCaptureFixture
) -> None:
    app, client = serve(settings)
    make_room = fill_the_disk(app)
    refused = client.submit("/storage/new", PLACE)

    assert refused.status_code == 503
    assert "The disk that keeps the records is full" in refused.text
    assert "makes room on that disk" in refused.text
    assert refused.headers["Retry-After"] == "300"
    assert "disk is full" in caplog.text
    assert "Cellar" not in caplog.text  # what people typed stays out of the log
    assert session.scalar(select(func.count(StoragePlace.id))) == 0
    assert client.get("/storage").status_code == 200

    make_room()
    again = client.post("/storage/new", data=typed_again(refused.text))
    session.rollback()
    place = session.scalars(select(StoragePlace)).one()
    assert (again.status_code, place.name, place.temperature_c) == (303, "Cellar <2>", 4.5)
    assert place.notes.split() == ["dry"] * 10_000


def test_a_file_that_was_sent_is_to_be_chosen_again(serve: Serve, settings: Settings, session: Session) -> None:
    app, client = serve(settings)
    fill_the_disk(app)
    file = (BytesIO(b"code;name\n" + b"P-1;Azenha\n" * 5_000), "stands.csv")
    refused = client.submit("/imports", {"kind": "populations", "file": file}, page="/imports")

    assert refused.status_code == 503
    assert "choose files once more" in refused.text
    assert 'value="populations"' not in refused.text
    assert session.scalar(select(func.count(Upload.id))) == 0


def test_what_may_only_be_read_is_shown_and_says_why_it_cannot_be_changed(
    serve: Serve, settings: Settings, session: Session, maker: Any
) -> None:
    maker.population(name="Azenha do Rio")
    session.commit()
    path = settings.database_url.removeprefix("sqlite:///")
    _app, client = serve(replace(settings, database_url=f"sqlite:///file:{path}?mode=ro&uri=true"))
    page, refused = client.get("/populations"), client.submit("/storage/new", PLACE)

    assert page.status_code == 200
    assert "Azenha do Rio" in page.text
    assert refused.status_code == 503
    assert "The database may only be read" in refused.text
    assert typed_again(refused.text)["name"] == "Cellar <2>"
    session.rollback()
    counts = [session.scalar(select(func.count(model.id))) for model in (StoragePlace, Population)]
    assert counts == [0, 1]


def test_a_database_that_cannot_be_reached_is_told_on_pages_and_to_programs(
    serve: Serve, settings: Settings, tmp_path: Path
) -> None:
    folder = tmp_path / "gone"
    _app, client = serve(replace(settings, database_url=f"sqlite:///{folder / 'nursery.sqlite'}"))
    shutil.rmtree(folder)
    page, data = client.get("/populations"), client.get("/api/v1/plan")

    assert (page.status_code, data.status_code) == (503, 503)
    assert "The database does not answer." in page.text
    assert "Try again in a minute." in page.text
    assert data.json == {
        "errors": {
            "request": "The database does not answer. Try again in a minute. If this goes on, tell the person who"
            " looks after this planner."
        }
    }


def test_a_frame_that_asks_the_database_too_is_left_out(serve: Serve, settings: Settings, tmp_path: Path) -> None:
    folder = tmp_path / "gone"
    app, client = serve(replace(settings, database_url=f"sqlite:///{folder / 'nursery.sqlite'}"))
    app.context_processor(lambda: {"count": db().scalar(text("SELECT 1"))})
    shutil.rmtree(folder)
    page = client.get("/populations")

    assert (page.status_code, "The database does not answer." in page.text) == (503, True)


def test_a_damaged_file_is_told_with_the_way_back(serve: Serve, settings: Settings) -> None:
    Path(settings.database_url.removeprefix("sqlite:///")).write_bytes(b"no database" * 1000)
    _app, client = serve(settings)
    page = client.get("/populations")

    assert page.status_code == 503
    assert "The database is damaged" in page.text
    assert "nursery restore" in page.text
