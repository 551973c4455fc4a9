"""The fifth revision: targets, plantings and preferences keep what they hold; the new ledgers are guarded.

Which need a line waits for moves to a table of its own, and back; decisions stand once.
"""

from __future__ import annotations

import pytest
from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError, IntegrityError

#: A line of a plan that waits for no need.
_LINE = (
    "INSERT INTO plan_lines (id, plan_id, target_id, site_id, site_name, species_id, species_name, season, status,"
    " wanted, plants_to_plant, ready_plants, method, protocol, container_name, nursery_name, cells, trays,"
    " cells_sown, seeds, pretreat_on, sow_on, ready_on, plant_on, expected, p10, p90, probability, shortfall,"
    " seeds_missing, phases, problems, basis)"
    " VALUES (1, 1, 1, 1, 'Bank', 1, 'Arbutus unedo', 2026, 'collect', 40, 40, 44, 'direct', 'spring', '', '',"
    " 60, 2, 60, 90, '2026-01-01', '2026-01-01', '2026-01-01', '2026-01-01', 40, 30, 50, 0.8, 25, 70, '[]', '[]',"
    " '{}')"
)


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
        (
            "INSERT INTO plans (id, label, created_at, person, as_of, fingerprint, engine_version, inputs,"
            " is_adopted)"
            " VALUES (1, 'Plan', '2026-01-01', 'Ana', '2026-01-01', 'x', '3', '{}', 1)"
        ),
        (
            "INSERT INTO collection_needs (id, plan_id, species_id, species_name, region_code, basin, opens_on,"
            " closes_on, seeds, mothers, plants)"
            " VALUES (1, 1, 1, 'Arbutus unedo', 'GV-A', '', '2026-10-01', '2026-11-30', 70, 30, 25)"
        ),
        _LINE,
        "UPDATE plan_lines SET need_id = 1",
        _LINE.replace("VALUES (1,", "VALUES (2,"),
        (
            "INSERT INTO decisions (id, kind, lot_id, site_id, reason, person, at) VALUES"
            " (1, 'forbid', 1, 1, 'Doubtful', 'Ana', '2026-01-01'),"
            " (2, 'forbid', 1, 1, 'Doubtful still', 'Ana', '2026-01-02')"
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
    parts = connection.execute(text("SELECT need_id, line_id, seeds, plants FROM need_parts")).all()
    assert parts == [(1, 1, 70, 25)]
    assert connection.execute(text("SELECT source, purpose FROM collection_needs")).all() == [("region", "plants")]
    standing = "SELECT id, withdrawn_at IS NULL FROM decisions ORDER BY id"
    assert connection.execute(text(standing)).all() == [(1, 1), (2, 0)]
    twice = (
        "INSERT INTO decisions (kind, lot_id, site_id, reason, person, at)"
        " VALUES ('forbid', 1, 1, 'Again', 'Ana', '2026-02-01')"
    )
    with pytest.raises(IntegrityError), connection.begin_nested():
        connection.execute(text(twice))
    connection.execute(
        text(
            "INSERT INTO batches (id, code, species_id, method, sown_on, seeds, trays, stage, stage_on,"
            " version, created_at)"
            " VALUES (1, 'B-1', 1, 'direct', '2026-02-01', 100, 1, 'sown', '2026-02-01', 1, '2026-02-01')"
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
    assert connection.execute(text("SELECT id, need_id FROM plan_lines ORDER BY id")).all() == [(1, 1), (2, None)]
