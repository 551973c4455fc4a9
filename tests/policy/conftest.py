"""The checkout, its files, and a demo database shared by all policy tests of one process."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy.orm import Session

from nursery.config import Settings
from nursery.database import make_engine
from tests.applications import lent
from tests.conftest import TODAY
from tests.databases import Kept
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
