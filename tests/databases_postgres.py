"""Databases of tests on a PostgreSQL server.

To make a database of some hundred tables takes longer than most tests, so that a copy is used again: the tables
that were written to get their rows back from a schema beside them, and the numbers of new rows begin as before.
"""

from __future__ import annotations

import re
import zlib
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Any

from psycopg import Error
from sqlalchemy import Connection, Engine, create_engine, event, make_url, text

#: Statements that write rows name the table; any other change makes a database good for nothing else.
_ROWS = re.compile(r"\b(?:INSERT INTO|UPDATE|DELETE FROM)\s+\"?(\w+)", re.IGNORECASE)
_SHAPE = re.compile(r"\s*(?:ALTER|CREATE|DROP|TRUNCATE|COPY|COMMENT)\b", re.IGNORECASE)
#: The tables of a new copy with rows are written down once more, and where the numbers of rows begin.
_SNAPSHOT = """
DO $$ DECLARE one record; filled boolean; BEGIN
    CREATE SCHEMA kept;
    CREATE TABLE kept."sequences of tables" AS
        SELECT tablename::text AS name, pg_get_serial_sequence(tablename::text, 'id') AS sequence,
            1::bigint AS begins
        FROM pg_tables WHERE schemaname = 'public' AND tablename <> 'alembic_version';
    FOR one IN SELECT * FROM kept."sequences of tables" LOOP
        EXECUTE format('SELECT EXISTS (SELECT FROM public.%I)', one.name) INTO filled;
        IF filled THEN EXECUTE format('CREATE TABLE kept.%I AS TABLE public.%I', one.name, one.name); END IF;
        IF one.sequence IS NOT NULL THEN
            EXECUTE format('UPDATE kept."sequences of tables" SET begins ='
                ' (SELECT last_value + is_called::int FROM %s) WHERE name = %L', one.sequence, one.name);
        END IF;
    END LOOP;
END $$
"""
_PUT_BACK = """
DO $$ DECLARE one record; BEGIN
    SET LOCAL session_replication_role = replica;
    SET LOCAL lock_timeout = '3s';
    FOR one IN SELECT * FROM kept."sequences of tables" WHERE name = ANY ('{names}') LOOP
        EXECUTE format('DELETE FROM public.%I', one.name);
        IF to_regclass(format('kept.%I', one.name)) IS NOT NULL THEN
            EXECUTE format('INSERT INTO public.%I SELECT * FROM kept.%I', one.name, one.name);
        END IF;
        IF one.sequence IS NOT NULL THEN PERFORM setval(one.sequence, one.begins, false); END IF;
    END LOOP;
END $$
"""


@dataclass(frozen=True)
class OnPostgres:
    """Databases of one server; a copy goes back to the others when the test that asked for it is over."""

    server: Engine
    worker: str
    #: Copies in use: what they are a copy of, and their names.
    used: list[tuple[str | None, str]] = field(default_factory=list)
    free: defaultdict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    #: Tables written to, by database; None among them when its shape was changed.
    touched: defaultdict[str, set[str | None]] = field(default_factory=lambda: defaultdict(set))
    numbers: count[int] = field(default_factory=count)

    def __post_init__(self) -> None:
        event.listen(Engine, "before_cursor_execute", self._note)

    def close(self) -> None:
        """Listen no more."""
        event.remove(Engine, "before_cursor_execute", self._note)
        self.server.dispose()

    @contextmanager
    def turn(self, name: str) -> Iterator[None]:
        """A lock on the server."""
        with self.server.connect() as connection:
            key = {"key": zlib.crc32(name.encode())}
            connection.execute(text("SELECT pg_advisory_lock(:key)"), key)
            yield
            connection.execute(text("SELECT pg_advisory_unlock(:key)"), key)

    def has(self, name: str) -> bool:
        """Whether the server has it."""
        return self._run("SELECT 1 FROM pg_database WHERE datname = :name", name=_kept(name))

    def keep(self, address: str, name: str) -> None:
        """Give the database its name."""
        own = str(make_url(address).database)
        self.used[:] = [use for use in self.used if use[1] != own]
        self._inside(own, "DROP SCHEMA IF EXISTS kept CASCADE")
        self._run(f'ALTER DATABASE "{own}" RENAME TO "{_kept(name)}"')

    def copy(self, name: str | None, folder: Path, called: str) -> str:  # noqa: ARG002 -- files need a folder
        """A database of its own on the server."""
        own = (name and self._again(name)) or self._new(name)
        self.used.append((name, own))
        return self._address(own)

    def take_back(self, first: int) -> None:
        """The copies asked for after the first so many are used no longer."""
        while len(self.used) > first:
            name, own = self.used.pop()
            if name is None or None in self.touched[own]:
                self._run(f'DROP DATABASE "{own}" WITH (FORCE)')
            else:
                self.free[name].append(own)

    def _again(self, name: str) -> str | None:
        """A copy that was used before, as it was when it was new."""
        while self.free[name]:
            own = self.free[name].pop()
            names = ",".join(sorted(table for table in self.touched.pop(own, ()) if table))
            try:
                self._inside(own, _PUT_BACK.replace("{names}", f"{{{names}}}"))
            except Error:  # somebody still has a row of it
                self._run(f'DROP DATABASE "{own}" WITH (FORCE)')
            else:
                return own
        return None

    def _new(self, name: str | None) -> str:
        own = f"{self.worker}_{next(self.numbers)}"
        template = f'"{_kept(name)}" STRATEGY file_copy' if name else "template0"
        self._run(f'CREATE DATABASE "{own}" TEMPLATE {template}')
        if name:
            self._inside(own, _SNAPSHOT)
        self.touched.pop(own, None)
        return own

    def _note(self, connection: Connection, _cursor: Any, statement: str, *_rest: Any) -> None:
        if connection.dialect.name == "postgresql":
            touched = self.touched[str(connection.engine.url.database)]
            touched.update(_ROWS.findall(statement))
            if _SHAPE.match(statement):
                touched.add(None)

    def _address(self, own: str) -> str:
        return self.server.url.set(database=own).render_as_string(hide_password=False)

    def _inside(self, own: str, statement: str) -> None:
        engine = create_engine(self._address(own))
        connection = engine.raw_connection()
        try:
            connection.cursor().execute(statement)
            connection.commit()
        finally:
            connection.close()
            engine.dispose()

    def _run(self, statement: str, **values: str) -> bool:
        """Whether it gave a row."""
        with self.server.connect() as connection:
            result = connection.execute(text(statement), values)
            return result.returns_rows and result.first() is not None


def _kept(name: str) -> str:
    return f"kept_{name}"
