"""The sixth revision: plantings, targets, populations, sites and preferences keep what they hold."""

from __future__ import annotations

import pytest
from sqlalchemy import Connection, text
from sqlalchemy.exc import IntegrityError


def load(connection: Connection) -> None:
    """Rows as the versions before knew them."""
    for statement in (
        "INSERT INTO species (id, key, scientific_name) VALUES (1, 'a', 'Arbutus unedo')",
        (
            "INSERT INTO populations (id, code, name, species_id, latitude, longitude, indigenous_status, version,"
            " created_at) VALUES (1, 'P-1', 'Stand', 1, 39, -6, 'unknown', 1, '2026-01-01')"
        ),
        (
            "INSERT INTO sites (id, code, name, latitude, longitude, version, created_at)"
            " VALUES (1, 'S-1', 'Bank', 39, -6, 1, '2026-01-01')"
        ),
        (
            "INSERT INTO lots (id, code, material, species_id, population_id, collected_on, ripening_year, pieces,"
            " version, created_at) VALUES (1, 'L-1', 'cuttings', 1, 1, '2025-10-01', 2025, 50, 1, '2026-01-01')"
        ),
        (
            "INSERT INTO targets (id, site_id, species_id, season, basis, plants, priority, version, created_at)"
            " VALUES (1, 1, 1, 2026, 'plants', 40, 2, 1, '2026-01-01')"
        ),
        (
            "INSERT INTO plantings (id, site_id, lot_id, planted_on, plants, version, created_at)"
            " VALUES (1, 1, 1, '2026-01-15', 30, 1, '2026-01-20')"
        ),
        (
            "INSERT INTO preferences (id, assurance, spare_trays, cost_seed, cost_thin, cost_cell, organisation)"
            " VALUES (1, 0.9, 2, 0.01, 0.02, 0.2, 'River people')"
        ),
    ):
        connection.execute(text(statement))


def check_upgraded(connection: Connection) -> None:
    def rows(sql: str) -> list[tuple[object, ...]]:
        return [tuple(row) for row in connection.execute(text(sql))]

    assert rows("SELECT plants, replacements FROM targets") == [(40, 0)]
    assert rows("SELECT plants, dispatch_line_id, people, hours, is_replacement FROM plantings") == [
        (30, None, "", None, 0)
    ]
    assert rows("SELECT name, register_reference, country, is_sensitive FROM populations") == [
        ("Stand", "", "", 0)
    ]
    assert rows("SELECT name, recipient_id, planting_permit FROM sites") == [("Bank", None, "")]
    assert rows("SELECT organisation, address, records_years, report_colour FROM preferences") == [
        ("River people", "", 10, "")
    ]
    for refused in (
        "UPDATE targets SET replacements = 41",
        "UPDATE preferences SET records_years = 2",
        "UPDATE plantings SET hours = 0",
        (
            "INSERT INTO dispatches (code, site_id, status, planned_on, version, created_at)"
            " VALUES ('D-1', 1, 'sent', '2026-02-01', 1, '2026-02-01')"
        ),
        (
            "INSERT INTO papers (number, kind, language, particulars, issued_on, keep_until, person, at)"
            " VALUES ('1', 'passport', 'en', '{}', '2026-02-01', '2036-02-01', 'Ana', '2026-02-01')"
        ),
    ):
        with pytest.raises(IntegrityError), connection.begin_nested():
            connection.execute(text(refused))


def check_downgraded(connection: Connection) -> None:
    assert connection.execute(text("SELECT plants, priority FROM targets")).all() == [(40, 2)]
    assert connection.execute(text("SELECT lot_id, plants FROM plantings")).all() == [(1, 30)]
    assert connection.execute(text("SELECT code, name FROM populations")).all() == [("P-1", "Stand")]
    assert connection.execute(text("SELECT code, name FROM sites")).all() == [("S-1", "Bank")]
    assert connection.execute(text("SELECT organisation, assurance FROM preferences")).all() == [
        ("River people", 0.9)
    ]
