"""The second revision: amounts typed into lots become the ledger's opening movements."""

from __future__ import annotations

from sqlalchemy import Connection, text

LOTS = [(1, "A-1", 12_500, None), (2, "A-2", None, 340), (3, "A-3", 0, None)]


def load(connection: Connection) -> None:
    """Three lots of the first version: a weight, a count, and one that is empty."""
    connection.execute(text("INSERT INTO species (id, key, scientific_name) VALUES (1, 'a', 'Arbutus unedo')"))
    connection.execute(
        text(
            "INSERT INTO populations (id, code, name, species_id, latitude, longitude, indigenous_status, version,"
            " created_at) VALUES (1, 'P-1', 'Stand', 1, 39, -6, 'unknown', 1, '2026-01-01')"
        )
    )
    for lot_id, code, milligrams, pieces in LOTS:
        connection.execute(
            text(
                "INSERT INTO lots (id, code, material, species_id, population_id, collected_on, ripening_year,"
                " amount_mg, pieces, permit_number, version, created_at)"
                " VALUES (:id, :code, 'seed', 1, 1, '2025-11-03', 2025, :mg, :pieces, 'COL 7', 1, '2025-11-04')"
            ),
            {"id": lot_id, "code": code, "mg": milligrams, "pieces": pieces},
        )


def check_upgraded(connection: Connection) -> None:
    movements = connection.execute(
        text("SELECT lot_id, kind, measure, change, happened_on FROM movements ORDER BY lot_id")
    ).all()
    assert [tuple(row) for row in movements] == [
        (1, "opening", "seed", 12_500, "2025-11-03"),
        (2, "opening", "pieces", 340, "2025-11-03"),
    ]
    assert amounts(connection) == LOTS


def check_downgraded(connection: Connection) -> None:
    assert amounts(connection) == LOTS
    assert connection.execute(text("SELECT DISTINCT permit_number FROM lots")).scalars().all() == ["COL 7"]


def amounts(connection: Connection) -> list[tuple[object, ...]]:
    """What each lot holds."""
    return [
        tuple(row) for row in connection.execute(text("SELECT id, code, amount_mg, pieces FROM lots ORDER BY id"))
    ]
