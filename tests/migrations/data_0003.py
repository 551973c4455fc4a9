"""The third revision: the day of the last move comes from the history, that of the moisture from its test."""

from __future__ import annotations

import json

from sqlalchemy import Connection, text

LOTS = [(1, "A-1"), (2, "A-2"), (3, "A-3")]
#: Lot 1 was moved twice and also renamed, lot 2 was brought by a file, lot 3 has no history.
CHANGES = [
    (1, "changed", {"storage_place_id": [1, 2]}, "2026-01-05 09:00:00.000000"),
    (1, "changed", {"storage_place_id": [2, 1]}, "2026-02-07 09:00:00.000000"),
    (1, "changed", {"notes": ["", "dry"]}, "2026-03-01 09:00:00.000000"),
    (2, "imported", {"storage_place_id": [None, 1]}, "2026-02-09 09:00:00.000000"),
]
#: The newest is refused, and the lot has the figure of the one before.
TESTS = [("2026-01-10", 40.5, True), ("2026-02-10", 38.25, True), ("2026-03-10", 22.0, False)]


def load(connection: Connection) -> None:
    """Lots of the second version in two places, with moves and moisture tests."""
    connection.execute(text("INSERT INTO species (id, key, scientific_name) VALUES (1, 'q', 'Quercus suber')"))
    connection.execute(
        text(
            "INSERT INTO populations (id, code, name, species_id, latitude, longitude, indigenous_status, version,"
            " created_at) VALUES (1, 'P-1', 'Stand', 1, 39, -6, 'unknown', 1, '2026-01-01')"
        )
    )
    for place in (1, 2):
        connection.execute(
            text(
                "INSERT INTO storage_places (id, name, version, created_at) VALUES (:id, :name, 1, '2026-01-01')"
            ),
            {"id": place, "name": f"Place {place}"},
        )
    for lot_id, code in LOTS:
        connection.execute(
            text(
                "INSERT INTO lots (id, code, material, species_id, population_id, collected_on, ripening_year,"
                " amount_mg, moisture_pct, storage_place_id, version, created_at)"
                " VALUES (:id, :code, 'seed', 1, 1, '2025-11-03', 2025, 0, 38.25, 1, 1, '2025-11-04')"
            ),
            {"id": lot_id, "code": code},
        )
    for lot_id, action, details, at in CHANGES:
        connection.execute(
            text(
                "INSERT INTO changes (at, person, action, subject, subject_id, details)"
                " VALUES (:at, 'Ana', :action, 'lots', :lot, :details)"
            ),
            {"at": at, "action": action, "lot": lot_id, "details": json.dumps(details)},
        )
    for day, result, accepted in TESTS:
        connection.execute(
            text(
                "INSERT INTO seed_tests (lot_id, kind, tested_on, person, readings, result, is_accepted, verdict,"
                " created_at) VALUES (1, 'moisture', :day, 'Ana', '{}', :result, :accepted, '{}', '2026-03-10')"
            ),
            {"day": day, "result": result, "accepted": accepted},
        )


def check_upgraded(connection: Connection) -> None:
    rows = connection.execute(
        text(
            "SELECT id, stored_on, moisture_on, harmed_on, is_received, supplier_document, certificate_number"
            " FROM lots ORDER BY id"
        )
    )
    assert [tuple(row) for row in rows] == [
        (1, "2026-02-07", "2026-02-10", None, 0, "", ""),
        (2, None, None, None, 0, "", ""),
        (3, None, None, None, 0, "", ""),
    ]


def check_downgraded(connection: Connection) -> None:
    rows = connection.execute(text("SELECT id, code, moisture_pct, storage_place_id FROM lots ORDER BY id"))
    assert [tuple(row) for row in rows] == [(lot_id, code, 38.25, 1) for lot_id, code in LOTS]
