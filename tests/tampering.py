"""What somebody does who has the whole database and another program than ours."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Engine


def tampered(engine: Engine, *statements: str) -> None:
    """Do it round all guards, which stand again afterwards, so that nothing but the statements shows."""
    connection = engine.raw_connection()
    cursor = connection.cursor()
    with _unguarded(engine, cursor):
        for statement in statements:
            cursor.execute(statement)
    connection.commit()
    connection.close()
    engine.dispose()


@contextmanager
def _unguarded(engine: Engine, cursor: Any) -> Iterator[None]:
    if engine.dialect.name == "postgresql":
        cursor.execute("SET session_replication_role = replica")
        yield
        return
    cursor.execute("PRAGMA foreign_keys=OFF")
    cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
    triggers = cursor.fetchall()
    for name, _sql in triggers:
        cursor.execute(f"DROP TRIGGER {name}")
    yield
    for _name, sql in triggers:
        cursor.execute(sql)
