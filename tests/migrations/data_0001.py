"""The first revision: from nothing to all tables, and back to nothing."""

from __future__ import annotations

from sqlalchemy import Connection, inspect


def load(connection: Connection) -> None:
    """Nothing is there before the first revision."""
    assert set(inspect(connection).get_table_names()) <= {"alembic_version"}


def check_upgraded(connection: Connection) -> None:
    made = set(inspect(connection).get_table_names())
    assert {"species", "populations", "trips", "lots", "sites", "targets", "plans", "plan_lines"} < made


def check_downgraded(connection: Connection) -> None:
    assert set(inspect(connection).get_table_names()) == {"alembic_version"}
