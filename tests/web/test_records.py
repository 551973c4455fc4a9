"""Two people at the same moment: nobody's writing is lost, and nobody sees an error page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import StoragePlace
from nursery.services.storage import create_place
from nursery.web.records import build
from nursery.web.storage.pages import PAGES


def raced(app: Flask, meanwhile: Callable[[Session], None]) -> None:
    """Pages of storage places on which somebody else saves between our reading and our writing."""

    def create(session: Session, actor: str, **options: Any) -> StoragePlace:
        session.scalars(select(StoragePlace)).all()
        with app.extensions["nursery_sessions"]() as other:
            meanwhile(other)
            other.commit()
        return create_place(session, actor, **options)

    app.register_blueprint(build(replace(PAGES, name="raced", create=create)))


@pytest.mark.parametrize("name", ["Fridge", "Cellar"])
def test_whoever_comes_second_is_asked_to_save_again(app: Flask, client: Any, session: Session, name: str) -> None:
    raced(app, lambda other: other.add(StoragePlace(name=name)))

    answer = client.submit("/raced/new", {"name": "Fridge", "temperature_c": "4,5"})

    assert answer.status_code == 422
    assert "Somebody else was saving at this very moment. Nothing is lost: save again." in answer.text
    assert 'value="4,5"' in answer.text
    assert session.scalars(select(StoragePlace.name)).all() == [name]


def test_a_name_that_the_database_finds_taken_is_no_error_page(app: Flask, client: Any, session: Session) -> None:
    def create(session: Session, actor: str, *, values: dict[str, Any], today: Any) -> StoragePlace:
        row = StoragePlace(name=values["name"])
        session.add_all([row, StoragePlace(name=values["name"])])
        session.flush()
        return row

    app.register_blueprint(build(replace(PAGES, name="twice", create=create)))

    answer = client.submit("/twice/new", {"name": "Fridge"})

    assert answer.status_code == 422
    assert "Somebody wrote the same thing down at this very moment." in answer.text
    assert session.scalar(select(func.count(StoragePlace.id))) == 0
