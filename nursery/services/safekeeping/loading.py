"""Filling an empty database with the rows of an archive, and proving that they arrived."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from nursery.database import knows_revision, upgrade_within
from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.safekeeping.archives import Archive, Manifest
from nursery.services.safekeeping.fingerprints import Content, contents
from nursery.services.safekeeping.shapes import Shape, quoted, shapes
from nursery.services.safekeeping.values import read_line

#: Rows sent at a time; files beside records are rows too, so few.
_AT_A_TIME = 500


def fill(connection: Connection, archive: Archive) -> None:
    """Make the tables of the archive's revision, load them, compare, and upgrade to this version.

    The caller has opened the transaction with `nursery.database.rebuilding`, in an empty database.

    Raises
    ------
    Invalid
        At ``file``, when the archive cannot be brought back; the caller's transaction is to be given up.
    """
    manifest = archive.manifest
    check_known(connection, manifest)
    upgrade_within(connection, manifest.revision)
    made = shapes(connection)
    if {shape.name: list(shape.columns) for shape in made} != manifest.columns:
        raise Invalid(
            {
                "file": _(
                    "The tables of the backup are not those of its version (%(revision)s). Nothing was changed.",
                    revision=manifest.revision,
                )
            }
        )
    with _references_off(connection):
        for shape in made:
            _load(connection, shape, archive.lines(shape.name))
    found = contents(connection)
    if found != manifest.tables:
        raise Invalid({"file": _unlike(found, manifest.tables)})
    upgrade_within(connection)


def check_known(connection: Connection, manifest: Manifest) -> None:
    """Refuse an archive whose schema this version has never heard of."""
    if not knows_revision(connection, manifest.revision):
        raise Invalid(
            {
                "file": _(
                    "The backup was written by version %(version)s, which is later than this one. Install that"
                    " version first. Nothing was changed.",
                    version=manifest.version,
                )
            }
        )


def _unlike(found: Mapping[str, Content], wanted: Mapping[str, Content]) -> str:
    names = sorted(name for name in wanted if found.get(name) != wanted[name])
    return _(
        "These tables did not arrive as they were in the backup: %(tables)s. Nothing was changed.",
        tables=", ".join(names),
    )


class _references_off:  # noqa: N801 -- used as a block
    """On PostgreSQL, references are taken off and put back on: rows that point at each other come in any order.

    On SQLite they are off already, and checked at the end of `rebuilding`.
    """

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.off: list[tuple[str, str, str]] = []

    def __enter__(self) -> None:
        if self.connection.dialect.name != "postgresql":
            return
        self.off = [
            (str(table), str(name), str(definition))
            for table, name, definition in self.connection.exec_driver_sql(
                "SELECT conrelid::regclass::text, quote_ident(conname), pg_get_constraintdef(oid) FROM"
                " pg_constraint WHERE contype = 'f' AND connamespace = current_schema()::regnamespace"
                " ORDER BY conname"
            )
        ]
        for table, name, _definition in self.off:
            self.connection.exec_driver_sql(f"ALTER TABLE {table} DROP CONSTRAINT {name}")

    def __exit__(self, kind: type[BaseException] | None, *_rest: object) -> None:
        if kind is not None:
            return
        for table, name, definition in self.off:
            self.connection.exec_driver_sql(f"ALTER TABLE {table} ADD CONSTRAINT {name} {definition}")


def _load(connection: Connection, shape: Shape, lines: Iterator[bytes]) -> None:
    table = quoted(connection, shape.name)
    columns = ", ".join(quoted(connection, name) for name in shape.columns)
    load = _load_sqlite if connection.dialect.name == "sqlite" else _load_postgresql
    try:
        # What a migration wrote itself into its tables is in the archive too.
        if connection.exec_driver_sql(f"SELECT 1 FROM {table} LIMIT 1").first():  # noqa: S608 -- own names
            connection.exec_driver_sql(f"DELETE FROM {table}")  # noqa: S608 -- own names
        load(connection, table, columns, len(shape.columns), map(read_line, lines))
    except DBAPIError as error:
        raise _refused(shape, str(error.orig)) from error
    except connection.dialect.loaded_dbapi.Error as error:  # COPY speaks to the driver itself
        raise _refused(shape, str(error)) from error
    if connection.dialect.name == "postgresql" and shape.key == ("id",):
        connection.exec_driver_sql(
            f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), coalesce(max(id), 0) + 1, false)"  # noqa: S608
            f" FROM {table}"
        )


def _load_sqlite(
    connection: Connection, table: str, columns: str, width: int, rows: Iterator[Sequence[Any]]
) -> None:
    statement = f"INSERT INTO {table} ({columns}) VALUES ({', '.join('?' * width)})"  # noqa: S608 -- own names
    while some := [tuple(row) for row in itertools.islice(rows, _AT_A_TIME)]:
        connection.exec_driver_sql(statement, some)


def _load_postgresql(
    connection: Connection, table: str, columns: str, _width: int, rows: Iterator[Sequence[Any]]
) -> None:
    driver: Any = connection.connection.driver_connection
    with driver.cursor() as cursor, cursor.copy(f"COPY {table} ({columns}) FROM STDIN") as copy:
        write: Callable[[Sequence[Any]], None] = copy.write_row
        for row in rows:
            write(row)


def _refused(shape: Shape, reason: str) -> Invalid:
    return Invalid(
        {
            "file": _(
                "The database refused rows of the table %(table)s (%(reason)s). Nothing was changed.",
                table=shape.name,
                reason=" ".join(reason.split()),
            )
        }
    )
