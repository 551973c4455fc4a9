"""The database: engine, sessions, and bringing the schema up to date.

SQLAlchemy owns BEGIN on SQLite (the driver's own transaction guesses break savepoints), foreign keys are on,
and the journal is written ahead so that readers never wait for a writer.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Row, Select, create_engine, event, make_url
from sqlalchemy.orm import Session, sessionmaker

from nursery import resources
from nursery.memory import Memory

#: Execution option of a connection that means to write. SQLite then waits its turn before the first read; a
#: transaction that reads first and writes later would fail at once when somebody else wrote in between.
WRITES = "nursery_writes"
#: Connections that stay open: one for each thread of a web process, its long works and the notes of who was there.
#: One beyond them is made anew for each request, and SQLite reads the whole schema for it.
POOL = 16
#: Where sessions find the memory that they share with the others of their database, and how much it holds.
MEMORY = "nursery_memory"
_REMEMBERED = 512

#: A server that is gone without a word (a pulled cable, a machine that froze) is given up after a minute at most,
#: instead of after hours: how long to wait for a connection (s), and for a sign of life on one (s, the last in
#: ms). What the address says goes before.
_PATIENCE = {
    "connect_timeout": 10,
    "keepalives_idle": 20,
    "keepalives_interval": 10,
    "keepalives_count": 3,
    "tcp_user_timeout": 50_000,
}


def make_engine(url: str, **options: Any) -> Engine:
    """An engine for ``url``; a SQLite file's folder is made when missing.

    What people typed stays out of its messages, which go to the log.
    """
    address = make_url(url)
    options = {"hide_parameters": True, **options}
    if address.get_backend_name() == "sqlite":
        if address.database and not address.database.startswith((":memory:", "file:")):
            Path(address.database).parent.mkdir(parents=True, exist_ok=True)
        engine = create_engine(address, **{"pool_size": POOL, **options})
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin)
        return engine
    waits = {name: length for name, length in _PATIENCE.items() if name not in address.query}
    engine = create_engine(address, pool_pre_ping=True, connect_args=waits, **{"pool_size": POOL, **options})
    event.listen(engine, "connect", _prepare_postgresql)
    return engine


def _prepare_postgresql(connection: Any, _record: Any) -> None:
    """The sum of whole numbers is a whole number, as on SQLite: the driver would give decimals."""
    from psycopg.adapt import Loader  # noqa: PLC0415 -- only where there is such a server

    class Number(Loader):
        def load(self, data: Any) -> int | float:
            text = bytes(data)
            return int(text) if text.lstrip(b"-").isdigit() else float(text)

    connection.adapters.register_loader("numeric", Number)


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    connection.isolation_level = None
    for pragma in ("foreign_keys=ON", "busy_timeout=20000", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")
    try:
        connection.execute("PRAGMA journal_mode=WAL")
    except sqlite3.OperationalError as error:
        # What may only be read is read with the journal that it has.
        if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_READONLY:
            raise


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def make_sessions(engine: Engine) -> sessionmaker[Session]:
    """The session maker of the application; see `writing` for sessions that write.

    Its sessions share a memory of what was read lately (`nursery.services.remembering`).
    """
    return sessionmaker(engine, expire_on_commit=False, info={MEMORY: Memory(_REMEMBERED)})


def read_columns(
    session: Session, statement: Select[*tuple[Any, ...]], values: Mapping[str, Any] | None = None
) -> Sequence[Row[Any]]:
    """Rows of columns, read past all that a session does for objects but to write them first."""
    session.flush()
    return session.connection().execute(statement, values).all()


def writing(sessions: sessionmaker[Session]) -> Session:
    """A session whose transactions are announced as writing."""
    engine: Engine = sessions.kw["bind"]
    return sessions(bind=engine.execution_options(**{WRITES: True}))


def _alembic(connection: Connection) -> Any:
    from alembic.config import Config  # noqa: PLC0415 -- slow import

    config = Config()
    config.set_main_option("script_location", str(resources.migrations()).replace("%", "%%"))
    # The connection itself is handed over, so that no password passes through a configuration file.
    config.attributes["connection"] = connection
    return config


def upgrade(engine: Engine, revision: str = "head") -> None:
    """Bring the schema to ``revision``, all or nothing."""
    with rebuilding(engine) as connection:
        upgrade_within(connection, revision)


def upgrade_within(connection: Connection, revision: str = "head") -> None:
    """Bring the schema to ``revision`` as part of the caller's transaction, which `rebuilding` opened."""
    from alembic import command  # noqa: PLC0415 -- slow import

    command.upgrade(_alembic(connection), revision)


def downgrade(engine: Engine, revision: str) -> None:
    """Take the schema back to ``revision``, all or nothing."""
    from alembic import command  # noqa: PLC0415 -- slow import

    with rebuilding(engine) as connection:
        command.downgrade(_alembic(connection), revision)


@contextmanager
def rebuilding(engine: Engine) -> Iterator[Connection]:
    """A transaction in which tables may be made anew: on SQLite, references are checked at its end, not before."""
    with engine.connect() as connection:
        is_sqlite = engine.dialect.name == "sqlite"
        if is_sqlite:
            # Rebuilding a table under ON DELETE CASCADE would delete its children; the check below stands guard.
            # The pragma only works outside a transaction, hence on the driver's own connection.
            _raw(connection, "PRAGMA foreign_keys=OFF")
        try:
            with connection.begin():
                yield connection
                if is_sqlite:
                    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
                    if broken:
                        raise RuntimeError(f"rows would point at none: {broken[:5]}")
        finally:
            if is_sqlite:
                _raw(connection, "PRAGMA foreign_keys=ON")


def _raw(connection: Connection, statement: str) -> None:
    driver = connection.connection.driver_connection
    if driver is not None:
        driver.execute(statement)


class Standing(StrEnum):
    """How a schema stands to this version of the product."""

    CURRENT = "current"
    OLDER = "older"
    #: Of a later version, or tampered with: it is not ours to upgrade.
    UNKNOWN = "unknown"
    NONE = "none"


def standing_of(engine: Engine) -> Standing:
    """How the schema stands to this version."""
    with engine.connect() as connection:
        revision = revision_of(connection)
        if revision is None:
            return Standing.UNKNOWN if connection.dialect.has_table(connection, "species") else Standing.NONE
        if revision == _scripts(connection).get_current_head():
            return Standing.CURRENT
        return Standing.OLDER if knows_revision(connection, revision) else Standing.UNKNOWN


def is_current(engine: Engine) -> bool:
    """Whether the schema is at the newest revision."""
    return standing_of(engine) is Standing.CURRENT


def revision_of(connection: Connection) -> str | None:
    """The revision of the schema; None where there is none yet."""
    from alembic.migration import MigrationContext  # noqa: PLC0415 -- slow import

    return MigrationContext.configure(connection).get_current_revision()


def knows_revision(connection: Connection, revision: str) -> bool:
    """Whether this version of the product has the migrations up to a revision."""
    return any(step.revision == revision for step in _scripts(connection).walk_revisions())


def _scripts(connection: Connection) -> Any:
    from alembic.script import ScriptDirectory  # noqa: PLC0415 -- slow import

    return ScriptDirectory.from_config(_alembic(connection))
