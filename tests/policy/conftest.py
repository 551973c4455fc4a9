"""The checkout, its files, and a demo database shared by all policy tests of one process."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy.orm import Session

from nursery.config import Settings
from nursery.database import make_engine
from tests.applications import lent
from tests.conftest import TODAY
from tests.databases import Kept
from tests.policy.apart import keep_apart, mark_of
from tests.policy.roles import sign_in_each_role

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
def demo(lived_in_file: Kept, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Flask, Session]]:
    """The application on the demo season after some use, and a session to look up what to ask for."""
    folder = tmp_path_factory.mktemp("pages")
    url = lived_in_file.copy(folder)
    engine = make_engine(url)
    settings = Settings(database_url=url, data_dir=folder, secret_key="for tests only", person="Ana Seabra")
    with lent(settings, today=TODAY) as app, Session(engine) as session:
        yield app, session
    engine.dispose()


@pytest.fixture(scope="module")
def peopled(demo: tuple[Flask, Session]) -> tuple[Flask, Session]:
    """The demo with somebody of each role signed in; posts need no form's token."""
    app, session = demo
    sign_in_each_role(session)
    app.config["WTF_CSRF_ENABLED"] = False
    return app, session


@pytest.fixture(scope="module")
def apart(peopled: tuple[Flask, Session]) -> tuple[Flask, Session]:
    """Somebody who may do everything in one nursery, somebody who may in all, and a record of each kind."""
    keep_apart(peopled[1])
    return peopled


@pytest.fixture
def written(apart: tuple[Flask, Session]) -> Callable[[], bool]:
    """``written()`` tells whether anything was written to the database of ``apart`` since it was asked last."""
    _app, session = apart
    kept = [mark_of(session)]

    def since() -> bool:
        kept.append(mark_of(session))
        return kept[-1] != kept[-2]

    return since
