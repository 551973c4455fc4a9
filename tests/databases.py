"""Databases of tests: what takes long is made once for all workers, and copied."""

from __future__ import annotations

import fcntl
import shutil
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from sqlalchemy import Engine, make_url

from nursery.database import make_engine


class Store(Protocol):
    """Where databases are kept to be copied."""

    def turn(self, name: str) -> AbstractContextManager[None]:
        """Wait until no other worker makes the database of this name."""

    def has(self, name: str) -> bool:
        """Whether a database of this name is kept."""

    def keep(self, address: str, name: str) -> None:
        """Keep the database at an address by this name."""

    def copy(self, name: str | None, folder: Path, called: str) -> str:
        """Address of a copy of what is kept by a name; of an empty database without one."""


@dataclass(frozen=True)
class OnSqlite:
    """Files in a folder that all workers see."""

    folder: Path

    @contextmanager
    def turn(self, name: str) -> Iterator[None]:
        """A lock on a file beside it."""
        with self._file(name).with_suffix(".lock").open("w", encoding="ascii") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield

    def has(self, name: str) -> bool:
        """Whether the file is there."""
        return self._file(name).exists()

    def keep(self, address: str, name: str) -> None:
        """Move the file there: whole or not at all."""
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
    with store.turn(name):
        if not store.has(name):
            address = store.copy(start and start.name, folder, name)
            engine = make_engine(address)
            write(engine)
            engine.dispose()
            store.keep(address, name)
    return Kept(store, name)
