"""From SQLite to PostgreSQL and back: the same counts and fingerprints, and a nursery that goes on there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine, delete, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from nursery.database import is_current, make_engine
from nursery.errors import Conflict, Invalid
from nursery.models import Movement, Species
from nursery.services import safekeeping
from nursery.services.safekeeping import Content
from tests.postgres import running_postgres
from tests.services.safekeeping.odd import write_odd_rows

pytestmark = pytest.mark.postgres


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    with running_postgres() as address:
        yield address


@pytest.fixture
def odd(engine: Engine) -> Engine:
    """A SQLite nursery with odd values."""
    with Session(engine) as session, session.begin():
        write_odd_rows(session)
    return engine


def contents(engine: Engine) -> dict[str, Content]:
    with engine.connect() as connection:
        return safekeeping.contents(connection)


def test_a_nursery_moves_over_goes_on_there_and_comes_back(odd: Engine, server: str, tmp_path: Path) -> None:
    moved = safekeeping.move(odd, server)
    there = make_engine(server)
    assert contents(there) == contents(odd) == moved.tables
    with Session(there) as session:
        assert (is_current(there), safekeeping.find_faults(session)) == (True, [])
        with pytest.raises(DBAPIError, match="the ledger is only added to"):
            session.execute(delete(Movement))
    with pytest.raises(Conflict, match="records that would be lost"):
        safekeeping.move(odd, server)

    with Session(there) as session, session.begin():
        session.add(Species(key="next", scientific_name="Arbutus unedo"))  # takes the number after the last
    safekeeping.back_up(there, tmp_path / "there.zip")
    safekeeping.restore(tmp_path / "there.zip", f"sqlite:///{tmp_path / 'back.sqlite'}")
    back = make_engine(f"sqlite:///{tmp_path / 'back.sqlite'}")
    assert contents(back) == contents(there) != moved.tables

    refused_without_a_trace(odd, there, server, tmp_path)
    safekeeping.back_up(odd, tmp_path / "again.zip")
    safekeeping.restore(tmp_path / "again.zip", server, replace=True)
    assert contents(there) == moved.tables
    back.dispose()
    there.dispose()


def refused_without_a_trace(odd: Engine, there: Engine, server: str, tmp_path: Path) -> None:
    """What PostgreSQL cannot hold is named, and what stood there before stands there still."""
    before = contents(there)
    kept = "SELECT notes FROM populations WHERE code = 'P-lot'"
    with odd.begin() as connection:
        connection.execute(text("UPDATE populations SET notes = 'a' || char(0) || 'b' WHERE code = 'P-lot'"))
    safekeeping.back_up(odd, tmp_path / "nul.zip")
    with pytest.raises(Invalid, match=r"refused rows of the table populations \(.*NUL"):
        safekeeping.restore(tmp_path / "nul.zip", server, replace=True)
    with odd.begin() as connection:
        assert connection.scalar(text(kept)) == "a\0b"
        connection.execute(text("UPDATE populations SET notes = '' WHERE code = 'P-lot'"))
    assert contents(there) == before
