"""Two people at the same moment: nobody's writing is lost, and nobody sees an error page."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.app import create_app
from nursery.config import Settings
from nursery.database import WRITES
from nursery.models import StoragePlace
from nursery.web import rights
from nursery.web.records import build
from nursery.web.storage.pages import PAGES
from tests.web.conftest import Browser


@pytest.fixture
def busy(app: Flask, client: Any, session: Session) -> None:
    """Somebody else writes and writes; we wait for them a twentieth of a second only."""
    client.get("/")  # opens the connection that the pool will hand out again
    with app.extensions["nursery_sessions"].kw["bind"].connect() as connection:
        connection.exec_driver_sql("PRAGMA busy_timeout=50")
    session.connection(execution_options={WRITES: True})


@pytest.mark.usefixtures("busy")
def test_a_form_sent_while_somebody_else_saves_keeps_what_was_typed(client: Any, session: Session) -> None:
    answer = client.submit("/storage/new", {"name": "Fridge", "temperature_c": "4,5"})

    assert answer.status_code == 422
    assert "Somebody else was saving at this very moment. Nothing is lost: save again." in answer.text
    assert 'value="4,5"' in answer.text
    session.rollback()
    assert session.scalar(select(func.count(StoragePlace.id))) == 0


@pytest.mark.usefixtures("busy")
def test_anything_else_sent_meanwhile_is_answered_in_words(client: Any) -> None:
    answer = client.submit("/plans", page="/plans")

    assert answer.status_code == 503
    assert "Nothing of your request was written" in answer.text


def test_a_name_that_the_database_finds_taken_is_no_error_page(
    settings: Settings, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    def create(session: Session, actor: str, *, values: dict[str, Any], today: Any) -> StoragePlace:
        row = StoragePlace(name=values["name"])
        session.add_all([row, StoragePlace(name=values["name"])])
        session.flush()
        return row

    app = create_app(settings, testing=True)  # of its own, since it gets a page more
    monkeypatch.setitem(rights.BLUEPRINTS, "twice", rights.BLUEPRINTS["storage"])
    app.register_blueprint(build(replace(PAGES, name="twice", create=create)))

    answer = Browser(app, app.response_class).submit("/twice/new", {"name": "Fridge"})
    app.extensions["nursery_sessions"].kw["bind"].dispose()

    assert answer.status_code == 422
    assert "Somebody wrote the same thing down at this very moment." in answer.text
    assert session.scalar(select(func.count(StoragePlace.id))) == 0
