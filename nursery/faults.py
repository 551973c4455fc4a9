"""What kind of trouble a database is in, whichever it is; what to say about it is for pages and commands."""

from __future__ import annotations

import sqlite3
from enum import StrEnum

from sqlalchemy import exc


class Fault(StrEnum):
    """Trouble that lies outside the program and that a person can mend."""

    BUSY = "busy"
    FULL = "full"
    READ_ONLY = "read-only"
    AWAY = "away"
    DAMAGED = "damaged"


#: SQLite's primary result codes.
_OF_SQLITE = {
    sqlite3.SQLITE_BUSY: Fault.BUSY,
    sqlite3.SQLITE_LOCKED: Fault.BUSY,
    sqlite3.SQLITE_FULL: Fault.FULL,
    sqlite3.SQLITE_READONLY: Fault.READ_ONLY,
    sqlite3.SQLITE_PERM: Fault.READ_ONLY,
    sqlite3.SQLITE_CANTOPEN: Fault.AWAY,
    sqlite3.SQLITE_IOERR: Fault.AWAY,
    sqlite3.SQLITE_CORRUPT: Fault.DAMAGED,
    sqlite3.SQLITE_NOTADB: Fault.DAMAGED,
}
#: PostgreSQL's SQLSTATEs, whole or by their class.
_OF_POSTGRESQL = {
    "53100": Fault.FULL,
    "53": Fault.BUSY,  # too many connections, no memory left
    "40": Fault.BUSY,  # deadlocks and what cannot be put in a row
    "55P03": Fault.BUSY,
    "57014": Fault.BUSY,
    "25006": Fault.READ_ONLY,
    "08": Fault.AWAY,
    "57": Fault.AWAY,
    "58": Fault.AWAY,
    "XX001": Fault.DAMAGED,
    "XX002": Fault.DAMAGED,
}


def fault_of(error: BaseException | None) -> Fault | None:
    """The trouble behind an error; None for a mistake in the program, such as a table that is not there."""
    if isinstance(error, exc.TimeoutError):  # every connection was lent out
        return Fault.BUSY
    if not isinstance(error, exc.DBAPIError):
        return None
    orig = error.orig
    if isinstance(orig, sqlite3.Error):
        code = getattr(orig, "sqlite_errorcode", 0)  # the driver's own errors have none
        if code == sqlite3.SQLITE_IOERR_SHMSIZE:  # the journal's index cannot grow
            return Fault.FULL
        return _OF_SQLITE.get(code & 0xFF)
    state = getattr(orig, "sqlstate", None)
    if state is None:  # no server was there to give one
        return Fault.AWAY if isinstance(error, exc.OperationalError) else None
    return _OF_POSTGRESQL.get(state) or _OF_POSTGRESQL.get(state[:2])
