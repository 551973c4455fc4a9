"""Clients of the API: on an empty database, and on the demo season."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy.orm import Session

from nursery.config import Settings
from nursery.database import make_engine
from tests.applications import lent
from tests.conftest import TODAY
from tests.databases import Kept


@pytest.fixture
def app(settings: Settings, today: dt.date) -> Iterator[Flask]:
    with lent(settings, today=today) as app:
        yield app


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


@pytest.fixture
def demo_app(demo_file: Kept, tmp_path: Path) -> Iterator[Flask]:
    """The application on a demo season of this test's own; posts need no form's token."""
    url = demo_file.copy(tmp_path, "demo")
    settings = Settings(database_url=url, data_dir=tmp_path, secret_key="for tests only", person="Ana Seabra")
    with lent(settings, today=TODAY) as app:
        app.config["WTF_CSRF_ENABLED"] = False
        yield app


@pytest.fixture
def demo_client(demo_app: Flask) -> FlaskClient:
    return demo_app.test_client()


@pytest.fixture
def demo_records(demo_app: Flask) -> Iterator[Session]:
    """The records that ``demo_app`` serves."""
    engine = make_engine(demo_app.config["NURSERY"].database_url)
    with Session(engine) as session:
        yield session
    engine.dispose()
