"""What was read is read again when, and only when, a record changed."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session, sessionmaker

from nursery.database import make_engine, make_sessions, upgrade, writing
from nursery.models import StoragePlace
from nursery.services.auditing import record
from nursery.services.remembering import remembered
from tests.postgres import running_postgres

ANA = "Ana Seabra"
Sessions = sessionmaker[Session]


class Reading:
    """Counts storage places, and how often they were counted."""

    def __init__(self) -> None:
        self.times = 0

    def __call__(self, session: Session) -> int:
        def count() -> int:
            self.times += 1
            return session.scalar(select(func.count()).select_from(StoragePlace)) or 0

        return remembered(session, "places", count)


@pytest.fixture
def sessions(engine: Engine) -> Sessions:
    """Those of a database in which something was noted already."""
    return begun(engine)


def begun(engine: Engine) -> Sessions:
    sessions = make_sessions(engine)
    write(sessions, "Fridge")
    return sessions


def write(sessions: Sessions, name: str, *, ends_well: bool = True) -> None:
    with writing(sessions) as session:
        row = StoragePlace(name=name)
        session.add(row)
        record(session, ANA, action="created", row=row)
        session.commit() if ends_well else session.rollback()


def test_requests_share_what_was_read(sessions: Sessions) -> None:
    reading = Reading()
    for _request in range(3):
        with sessions() as session:
            assert [reading(session), reading(session)] == [1, 1]

    assert reading.times == 1


def test_a_change_is_seen_by_the_next_request(sessions: Sessions) -> None:
    reading = Reading()
    found = []
    for name in ("Shelf", "Cupboard"):
        with sessions() as session:
            found.append(reading(session))
        write(sessions, name)
    with sessions() as session:
        found.append(reading(session))

    assert (found, reading.times) == ([1, 2, 3], 3)


def test_a_session_that_lives_on_sees_it_in_its_next_transaction(sessions: Sessions) -> None:
    reading = Reading()
    with sessions() as session:
        before = reading(session)
        session.rollback()
        write(sessions, "Shelf")
        after = reading(session)

    assert (before, after) == (1, 2)


def test_another_process_sees_it_as_well(sessions: Sessions) -> None:
    """Two processes have a memory each, and nothing in common but the database."""
    other = make_sessions(sessions.kw["bind"])
    reading = Reading()
    with other() as session:
        assert reading(session) == 1
    write(sessions, "Shelf")
    with other() as session:
        assert reading(session) == 2


@pytest.mark.postgres
def test_on_postgresql_too_a_change_is_seen_at_once_and_nothing_is_read_twice() -> None:
    with running_postgres() as url:
        engine = make_engine(url)
        upgrade(engine)
        sessions, reading, found = begun(engine), Reading(), []
        for name in ("Shelf", "Cupboard"):
            with sessions() as session:
                found += [reading(session), reading(session)]
            write(sessions, name)
        engine.dispose()

    assert (found, reading.times) == ([1, 1, 2, 2], 2)


def test_what_was_taken_back_is_not_remembered(sessions: Sessions) -> None:
    reading = Reading()
    with sessions() as session:
        reading(session)
    write(sessions, "Shelf", ends_well=False)
    with sessions() as session:
        assert reading(session) == 1
    assert reading.times == 1


def test_who_writes_reads_its_own_changes_and_lets_nobody_remember_them(sessions: Sessions) -> None:
    reading = Reading()
    with writing(sessions) as session:
        session.add(StoragePlace(name="Shelf"))
        session.flush()
        assert [reading(session), reading(session)] == [2, 2]
        session.rollback()
    with sessions() as session:
        assert reading(session) == 1
    assert reading.times == 3


def test_while_nothing_was_ever_noted_all_is_read(engine: Engine) -> None:
    """Whoever fills an empty database by other means leaves no seal behind."""
    sessions, reading = make_sessions(engine), Reading()
    with sessions() as session:
        assert reading(session) == 0
        session.add(StoragePlace(name="Fridge"))
        session.commit()
    with sessions() as session:
        assert reading(session) == 1


def test_a_session_of_its_own_always_reads(sessions: Sessions) -> None:
    reading = Reading()
    with Session(sessions.kw["bind"]) as session:
        assert [reading(session), reading(session)] == [1, 1]

    assert reading.times == 2
