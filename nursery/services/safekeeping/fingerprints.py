"""What every table holds: its rows as lines, how many they are, and their fingerprint."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Engine

from nursery.services.safekeeping.shapes import Kind, Shape, quoted, shapes
from nursery.services.safekeeping.values import as_line, writers

#: Rows fetched at a time; files beside records are rows too, so few.
_AT_A_TIME = 500


@dataclass(frozen=True, slots=True)
class Content:
    """Rows of one table and the SHA-256 of their lines."""

    rows: int
    sha256: str


@contextmanager
def snapshot(engine: Engine) -> Iterator[Connection]:
    """A transaction that sees the database at one moment, however long it reads, while others go on writing."""
    options = {} if engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
    with engine.connect().execution_options(**options) as connection, connection.begin():
        yield connection


def contents(connection: Connection) -> dict[str, Content]:
    """Count and fingerprint of every table, by name."""
    return {shape.name: taken_down(connection, shape, lambda _line: None) for shape in shapes(connection)}


def taken_down(connection: Connection, shape: Shape, write: Callable[[bytes], object]) -> Content:
    """Hand each line of a table to ``write``; its count and fingerprint."""
    digest, rows = hashlib.sha256(), 0
    for line in lines(connection, shape):
        write(line)
        digest.update(line)
        rows += 1
    return Content(rows, digest.hexdigest())


def lines(connection: Connection, shape: Shape) -> Iterator[bytes]:
    """Every row of a table as a line, in the order of its key."""
    columns = ", ".join(_asked_for(connection, name, kind) for name, kind in shape.columns.items())
    order = ", ".join(quoted(connection, name) for name in shape.key)
    statement = f"SELECT {columns} FROM {quoted(connection, shape.name)}"  # noqa: S608 -- names from the database itself
    changed = writers(list(shape.columns.values()))
    found = connection.execution_options(yield_per=_AT_A_TIME).exec_driver_sql(
        f"{statement} ORDER BY {order}" if order else statement
    )
    for row in found:
        values: list[Any] = list(row)
        for place, change in changed:
            values[place] = change(values[place])
        yield as_line(values)


def _asked_for(connection: Connection, name: str, kind: Kind) -> str:
    """A column in a query; PostgreSQL gives dates and JSON as the text that SQLite keeps."""
    column = quoted(connection, name)
    if connection.dialect.name == "sqlite":
        return column
    match kind:
        case Kind.MOMENT:
            return f"to_char({column}, 'YYYY-MM-DD HH24:MI:SS.US')"
        case Kind.DATE:
            return f"to_char({column}, 'YYYY-MM-DD')"
        case Kind.JSON:
            return f"{column}::text"
        case _:
            return column
