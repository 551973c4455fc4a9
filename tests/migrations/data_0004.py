"""The fourth revision: stands and sites keep what they hold and get the law's usual words."""

from __future__ import annotations

from sqlalchemy import Connection, text


def load(connection: Connection) -> None:
    """A stand and a site as the versions before knew them."""
    connection.execute(text("INSERT INTO species (id, key, scientific_name) VALUES (1, 'a', 'Arbutus unedo')"))
    connection.execute(
        text(
            "INSERT INTO populations (id, code, name, species_id, latitude, longitude, basin, region_code,"
            " indigenous_status, version, created_at)"
            " VALUES (1, 'P-1', 'Stand', 1, 39, -6, 'Guadorva', 'GV-A', 'unknown', 1, '2026-01-01')"
        )
    )
    connection.execute(
        text(
            "INSERT INTO sites (id, code, name, latitude, longitude, basin, region_code, version, created_at)"
            " VALUES (1, 'S-1', 'Bank', 39, -6, 'Guadorva', 'GV-A', 3, '2026-01-01')"
        )
    )


def check_upgraded(connection: Connection) -> None:
    stand = connection.execute(
        text("SELECT code, basin, region_code, category, basic_material FROM populations")
    ).one()
    assert tuple(stand) == ("P-1", "Guadorva", "GV-A", "source-identified", "seed source")
    site = connection.execute(
        text("SELECT code, version, native_only, least_category, rule_set_id FROM sites")
    ).one()
    assert tuple(site) == ("S-1", 3, 0, None, None)
    assert connection.execute(text("SELECT count(*) FROM decisions")).scalar() == 0


def check_downgraded(connection: Connection) -> None:
    assert connection.execute(text("SELECT code, region_code FROM populations")).all() == [("P-1", "GV-A")]
    assert connection.execute(text("SELECT code, version FROM sites")).all() == [("S-1", 3)]
