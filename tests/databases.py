"""Databases of tests, on SQLite and on PostgreSQL: what takes long is made once for all workers, and copied."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Protocol

from sqlalchemy import Engine, make_url, text

from nursery.database import make_engine


class Store(Protocol):
    """Where databases are kept to be copied."""

    def has(self, name: str) -> bool:
        """Whether a database of this name is kept."""

    def keep(self, address: str, name: str) -> None:
        """Keep the database at an address by this name, unless somebody else was first."""

    def copy(self, name: str | None, folder: Path, called: str) -> str:
        """Address of a copy of what is kept by a name; of an empty database without one."""


@dataclass(frozen=True)
class OnSqlite:
    """Files in a folder that all workers see."""

    folder: Path

    def has(self, name: str) -> bool:
        """Whether the file is there."""
        return self._file(name).exists()

    def keep(self, address: str, name: str) -> None:
        """Move the file there: whole or not at all, whoever else makes it meanwhile."""
        Path(make_url(address).database or "").replace(self._file(name))

    def copy(self, name: str | None, folder: Path, called: str) -> str:
        """A file in the folder of whoever asks."""
        folder.mkdir(parents=True, exist_ok=True)
        file = folder / f"{called}.sqlite"
        if name:
            shutil.copy(self._file(name), file)
        return f"sqlite:///{file}"

    def _file(self, name: str) -> Path:
        return self.folder / f"{name}.sqlite"


@dataclass(frozen=True)
class OnPostgres:
    """Databases of one server; copies are dropped by the test that made them."""

    server: Engine
    worker: str
    made: list[str] = field(default_factory=list)
    numbers: count[int] = field(default_factory=count)

    def has(self, name: str) -> bool:
        """Whether the server has it."""
        return self._run("SELECT 1 FROM pg_database WHERE datname = :name", name=_kept(name))

    def keep(self, address: str, name: str) -> None:
        """Give the database its name; one that another worker made meanwhile stands."""
        own = make_url(address).database
        self.made.remove(str(own))
        if self.has(name):
            self._run(f'DROP DATABASE "{own}"')
        else:
            self._run(f'ALTER DATABASE "{own}" RENAME TO "{_kept(name)}"')

    def copy(self, name: str | None, folder: Path, called: str) -> str:  # noqa: ARG002 -- files need a folder
        """A database of its own on the server; its name begins with the worker's."""
        own = f"{self.worker}_{next(self.numbers)}"
        template = f'"{_kept(name)}" STRATEGY file_copy' if name else "template0"
        self._run(f'CREATE DATABASE "{own}" TEMPLATE {template}')
        self.made.append(own)
        return self.server.url.set(database=own).render_as_string(hide_password=False)

    def drop_all_but(self, first: int) -> None:
        """Drop the copies made after the first so many."""
        while len(self.made) > first:
            self._run(f'DROP DATABASE "{self.made.pop()}" WITH (FORCE)')

    def _run(self, statement: str, **values: str) -> bool:
        """Whether it gave a row."""
        with self.server.connect() as connection:
            result = connection.execute(text(statement), values)
            return result.returns_rows and result.first() is not None


def _kept(name: str) -> str:
    return f"kept_{name}"


@dataclass(frozen=True)
class Kept:
    """A database that nobody writes to."""

    store: Store
    name: str

    def copy(self, folder: Path, called: str = "nursery") -> str:
        """Address of a copy; on SQLite it is a file of this name in this folder."""
        return self.store.copy(self.name, folder, called)


def make_once(
    store: Store, name: str, start: Kept | None, write: Callable[[Engine], object], folder: Path
) -> Kept:
    """A copy of ``start`` (or an empty database) into which ``write`` wrote, made where it is missing."""
    if not store.has(name):
        address = store.copy(start and start.name, folder, name)
        engine = make_engine(address)
        write(engine)
        engine.dispose()
        store.keep(address, name)
    return Kept(store, name)
