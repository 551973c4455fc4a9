"""The seventh revision: changes written before are sealed as they stand."""

from __future__ import annotations

import datetime as dt
import hashlib
import json

import pytest
from sqlalchemy import Connection, text
from sqlalchemy.exc import DatabaseError

DETAILS = '{"name": ["Bäume", null], "area": [1.5, 2]}'


def load(connection: Connection) -> None:
    """Changes as the versions before knew them; ids have a gap."""
    for row_id in (1, 3):
        connection.execute(
            text(
                "INSERT INTO changes (id, at, person, action, subject, subject_id, details)"
                " VALUES (:id, '2026-11-01 10:00:00.000000', 'Ana Seabra', 'changed', 'sites', 1, :details)"
            ),
            {"id": row_id, "details": DETAILS},
        )


def check_upgraded(connection: Connection) -> None:
    seals = connection.execute(text("SELECT id, change_id, hash FROM seals ORDER BY id")).all()
    assert [(place, change) for place, change, _hash in seals] == [(1, 1), (2, 3)]
    before = "0" * 64
    for _place, change, kept in seals:
        # Written out once more, so that a slip in the migration shows.
        told = {
            "account_id": None, "action": "changed", "at": dt.datetime(2026, 11, 1, 10, tzinfo=dt.UTC).isoformat(),
            "details": json.loads(DETAILS), "id": change, "person": "Ana Seabra", "reason": "", "subject": "sites",
            "subject_id": 1,
        }  # fmt: skip
        line = json.dumps(told, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        before = hashlib.sha256(f"{before}\n{line}".encode()).hexdigest()
        assert kept == before
    for refused in ("UPDATE changes SET person = 'x'", "DELETE FROM changes", "UPDATE seals SET hash = 'x'"):
        with pytest.raises(DatabaseError, match="only added to"), connection.begin_nested():
            connection.execute(text(refused))


def check_downgraded(connection: Connection) -> None:
    rows = connection.execute(text("SELECT id, details FROM changes ORDER BY id")).all()
    assert [tuple(row) for row in rows] == [(1, DETAILS), (3, DETAILS)]
