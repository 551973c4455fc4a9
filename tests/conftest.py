"""What every test may ask for: a migrated database, a session that leaves nothing behind, the application."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.config import Settings
from nursery.database import make_engine, upgrade
from nursery.i18n import set_locale

#: The day on which all tests happen.
TODAY = dt.date(2026, 11, 25)


@pytest.fixture(autouse=True)
def _english() -> None:
    set_locale("en")


@pytest.fixture
def today() -> dt.date:
    return TODAY


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file brought up to date by the migrations, to be copied."""
    file = tmp_path_factory.mktemp("database") / "empty.sqlite"
    engine = make_engine(f"sqlite:///{file}")
    upgrade(engine)
    engine.dispose()
    return file


@pytest.fixture
def database(empty_database: Path, tmp_path: Path) -> str:
    """Address of a database of this test's own."""
    file = tmp_path / "nursery.sqlite"
    shutil.copy(empty_database, file)
    return f"sqlite:///{file}"


@pytest.fixture
def engine(database: str) -> Iterator[Engine]:
    engine = make_engine(database)
    yield engine
    engine.dispose()


@pytest.fixture
def session(engine: Engine) -> Iterator[Session]:
    with Session(engine, expire_on_commit=False) as session:
        yield session


@pytest.fixture
def settings(database: str, tmp_path: Path) -> Settings:
    return Settings(
        database_url=database, data_dir=tmp_path, secret_key="a secret for tests only", person="Ana Seabra"
    )
