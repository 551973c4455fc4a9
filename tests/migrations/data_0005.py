"""The fifth revision: targets, plantings and preferences keep what they hold; the new ledgers are guarded."""

from __future__ import annotations

import pytest
from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError


def load(connection: Connection) -> None:
    """A target, a planting and preferences as the versions before knew them."""
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
            "INSERT INTO preferences (id, assurance, spare_trays, cost_seed, cost_thin, cost_cell)"
            " VALUES (1, 0.9, 2, 0.01, 0.02, 0.2)"
        ),
    ):
        connection.execute(text(statement))


def check_upgraded(connection: Connection) -> None:
    assert connection.execute(text("SELECT plants, priority, funder FROM targets")).all() == [(40, 2, "")]
    assert connection.execute(text("SELECT lot_id, plants, batch_id FROM plantings")).all() == [(1, 30, None)]
    kept = connection.execute(
        text(
            "SELECT assurance, spare_trays, currency, wage_per_hour, volunteer_per_hour, overhead, health_contact"
            " FROM preferences"
        )
    ).one()
    assert tuple(kept) == (0.9, 2, "EUR", 14, 0, 0.15, "")
    connection.execute(
        text(
            "INSERT INTO batches (id, code, species_id, method, sown_on, seeds, trays, stage, stage_on,"
            " version, created_at) VALUES (1, 'B-1', 1, 'direct', '2026-02-01', 100, 1, 'sown', '2026-02-01', 1, '2026-02-01')"
        )
    )
    connection.execute(
        text(
            "INSERT INTO plant_movements (id, batch_id, kind, change, person, happened_on, at, act)"
            " VALUES (1, 1, 'counted', 60, 'Ana', '2026-03-01', '2026-03-01', 'x')"
        )
    )
    for statement in ("UPDATE plant_movements SET change = 70", "DELETE FROM plant_movements"):
        with pytest.raises(DBAPIError, match="only added to"), connection.begin_nested():
            connection.execute(text(statement))


def check_downgraded(connection: Connection) -> None:
    assert connection.execute(text("SELECT plants, priority FROM targets")).all() == [(40, 2)]
    assert connection.execute(text("SELECT lot_id, plants FROM plantings")).all() == [(1, 30)]
    assert connection.execute(text("SELECT assurance, spare_trays FROM preferences")).all() == [(0.9, 2)]
