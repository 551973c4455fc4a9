"""The checkout, its files, and a demo database shared by all policy tests of one process."""

from __future__ import annotations

import datetime as dt
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy.orm import Session

from nursery.app import create_app
from nursery.config import Settings
from nursery.database import make_engine
from nursery.services.demo import load_demo
from nursery.services.planning import adopt_plan, make_plan

ROOT = Path(__file__).resolve().parents[2]


def tracked_files() -> list[Path]:
    """Files that git knows or would take in, whatever the state of the index; caches and databases are ignored."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    return sorted({ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file()})


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(scope="session")
def files() -> list[Path]:
    """Every file of the project."""
    return tracked_files()


@pytest.fixture(scope="module")
def demo(
    empty_database: Path, tmp_path_factory: pytest.TempPathFactory, demo_day: dt.date
) -> Iterator[tuple[Flask, Session]]:
    """The application on the planned demo season, and a session to look up what to ask for."""
    folder = tmp_path_factory.mktemp("demo")
    file = folder / "demo.sqlite"
    shutil.copy(empty_database, file)
    url = f"sqlite:///{file}"
    engine = make_engine(url)
    with Session(engine) as session, session.begin():
        load_demo(session, "Ana Seabra", today=demo_day)
        plan = make_plan(session, "Ana Seabra", today=demo_day, label="Demo")
        adopt_plan(session, "Ana Seabra", plan_id=plan.id)
    settings = Settings(database_url=url, data_dir=folder, secret_key="for tests only", person="Ana Seabra")
    app = create_app(settings, today=demo_day, testing=True)
    with Session(engine) as session:
        yield app, session
    engine.dispose()
    app.extensions["nursery_sessions"].kw["bind"].dispose()


@pytest.fixture(scope="session")
def demo_day() -> dt.date:
    return dt.date(2026, 11, 25)
