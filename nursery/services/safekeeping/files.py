"""Putting one SQLite file in the place of another, so that at every moment there is a whole one."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models.types import utc_now

#: Files that SQLite keeps beside a database; left behind, they would be played into the next one.
_BESIDE = ("-wal", "-shm", "-journal")
#: Seconds to wait for somebody who is just writing.
_PATIENCE_S = 3


def check_unused(target: Path) -> None:
    """Refuse a database that somebody has open: what they wrote later would go to a file that nobody reads."""
    with _alone(target):
        pass


@contextmanager
def _alone(target: Path) -> Iterator[None]:
    """The database closed up into one file, with everybody else shut out; a damaged one is left as it is."""
    with closing(sqlite3.connect(target, timeout=_PATIENCE_S, isolation_level=None)) as connection:
        try:
            # Leaving the write-ahead journal is granted only when no other connection is open.
            mode = connection.execute("PRAGMA journal_mode=DELETE").fetchone()[0]
            if mode != "delete":
                raise _in_use()
            connection.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
                raise _in_use() from error
            raise
        except sqlite3.DatabaseError:
            yield
            return
        yield


def _in_use() -> Conflict:
    return Conflict(
        _(
            "Somebody has this database open, perhaps the pages that are being served. Nothing was changed."
            " Stop them, then try again."
        )
    )


@contextmanager
def beside(target: Path) -> Iterator[Path]:
    """A name for a file being made in the folder of ``target``; gone at the end, whatever happened."""
    making = target.with_name(f"{target.name}.restoring-{os.getpid()}")
    try:
        yield making
    finally:
        for end in ("", *_BESIDE):
            making.with_name(making.name + end).unlink(missing_ok=True)


def swap(making: Path, target: Path) -> Path | None:
    """Put the new file in the place of the old; the name under which the old is kept, if there was one."""
    _close_up(making)
    kept = None
    if target.exists():
        shutil.copymode(target, making)
        with _alone(target):
            kept = kept_name(target)
            try:
                os.link(target, kept)
            except OSError:  # not every disk knows links
                shutil.copy2(target, kept)
            _put_aside_journals(target, kept)
            making.replace(target)
    else:
        _put_aside_journals(target, kept_name(target))
        making.replace(target)
    _reach_disk(target.parent)
    return kept


def kept_name(target: Path) -> Path:
    """Where a database is kept that another takes the place of."""
    return target.with_name(f"{target.name}.before-{utc_now():%Y%m%d-%H%M%S}")


def _put_aside_journals(target: Path, kept: Path) -> None:
    for end in _BESIDE:
        left = target.with_name(target.name + end)
        if left.exists():
            left.replace(kept.with_name(kept.name + end))


def _close_up(file: Path) -> None:
    """All of the database in its one file, on the disk."""
    with closing(sqlite3.connect(file, isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")
    _reach_disk(file)


def _reach_disk(path: Path) -> None:
    number = os.open(path, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)
