"""The demo season for tests of services."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy.orm import Session

from nursery.database import make_engine


@pytest.fixture
def demo_session(demo_file: Path, tmp_path: Path) -> Iterator[Session]:
    """A session on a copy of the demo season, its plan adopted."""
    file = tmp_path / "demo.sqlite"
    shutil.copy(demo_file, file)
    engine = make_engine(f"sqlite:///{file}")
    with Session(engine, expire_on_commit=False) as session:
        yield session
    engine.dispose()
