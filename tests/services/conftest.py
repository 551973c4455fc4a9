"""The demo season for tests of services."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy.orm import Session

from nursery.database import make_engine
from tests.databases import Kept


@pytest.fixture
def demo_session(demo_file: Kept, tmp_path: Path) -> Iterator[Session]:
    """A session on a copy of the demo season, its plan adopted."""
    engine = make_engine(demo_file.copy(tmp_path, "demo"))
    with Session(engine, expire_on_commit=False) as session:
        yield session
    engine.dispose()
