"""The command line in a home of its own, on the day of all tests."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from nursery.cli import main, opening
from tests.conftest import TODAY

Run = Callable[..., Result]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, today: dt.date) -> Path:
    """The data folder; its name has signs that addresses and formats trip over."""
    folder = tmp_path / "a nursery 100%"
    _go_home(folder, monkeypatch, today)
    return folder


def _go_home(folder: Path, monkeypatch: pytest.MonkeyPatch, today: dt.date) -> None:
    monkeypatch.setenv("NURSERY_DATA_DIR", str(folder))
    for name in ("NURSERY_DATABASE_URL", "NURSERY_LOCALE", "NURSERY_PERSON", "NURSERY_SECRET_KEY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(opening, "day", lambda: today)


def _call(*words: str, **options: str) -> Result:
    return CliRunner().invoke(main, words, **options)  # type: ignore[arg-type]


@pytest.fixture
def run(home: Path) -> Run:
    """Run ``nursery`` with these words."""
    return _call


@contextmanager
def running_in(home: Path) -> Iterator[Run]:
    """Run ``nursery`` in a home that several tests look at."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        _go_home(home, monkeypatch, TODAY)
        yield _call
