"""Codes that a file leaves empty and the map knows: offered, told row by row, and never filled in unasked."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Population, Site, Zone
from nursery.models.zones import ZoneKind

HEAD = "code,name,species,latitude,longitude,region,basin"
INSIDE = "P-1,Serra,Quercus suber,40.5,-7.5,,"
TYPED = "P-2,Vale,Quercus suber,40.6,-7.5,OWN-9,"
OUTSIDE = "P-3,Foz,Quercus suber,41.5,-7.5,,"


@pytest.fixture(autouse=True)
def zones(session: Session) -> None:
    """A region and a basin over the same square."""
    ring = [[-8.0, 40.0], [-7.0, 40.0], [-7.0, 41.0], [-8.0, 41.0], [-8.0, 40.0]]
    geometry = {"type": "Polygon", "coordinates": [ring]}
    for kind, code in ((ZoneKind.REGION, "AV-1"), (ZoneKind.BASIN, "Alva")):
        session.add(Zone(kind=kind, code=code, geometry=geometry))
    session.flush()


def codes(found: Any) -> list[tuple[int, str, str, str]]:
    return [(one.row, one.place, one.field, one.code) for one in found.map_codes]


OFFERED = [(2, "P-1", "region_code", "AV-1"), (2, "P-1", "basin", "Alva"), (3, "P-2", "basin", "Alva")]


def test_what_the_map_knows_is_offered_and_not_written_unasked(desk: Any, session: Session) -> None:
    file = "\n".join((HEAD, INSIDE, TYPED, OUTSIDE))
    found = desk.look("populations", file)
    assert (codes(found), found.from_map) == (OFFERED, False)
    assert ["region_code" in write.values for write in found.writes] == [False, True, False]

    desk.bring("populations", file)

    assert session.execute(select(Population.region_code, Population.basin).order_by(Population.code)).all() == [
        ("", ""), ("OWN-9", ""), ("", ""),
    ]  # fmt: skip


def test_asked_for_it_fills_what_is_empty_and_keeps_what_is_typed(desk: Any, session: Session) -> None:
    file = "\n".join((HEAD, INSIDE, TYPED, OUTSIDE))
    found = desk.look("populations", file, from_map=True)
    assert (codes(found), found.from_map) == (OFFERED, True)
    assert found.fingerprint != desk.look("populations", file).fingerprint

    desk.bring("populations", file, from_map=True)

    assert session.execute(select(Population.region_code, Population.basin).order_by(Population.code)).all() == [
        ("AV-1", "Alva"), ("OWN-9", "Alva"), ("", ""),
    ]  # fmt: skip


def test_sites_are_offered_their_codes_too(desk: Any, session: Session) -> None:
    file = "code,name,latitude,longitude,area\nS-1,Azenha,40.5,-7.5,2.5\n"

    desk.bring("sites", file, from_map=True)

    assert session.execute(select(Site.region_code, Site.basin)).all() == [("AV-1", "Alva")]


def test_a_record_that_stays_where_it_is_was_left_empty_knowingly(desk: Any, maker: Any) -> None:
    maker.population(code="P-1", latitude=40.5, longitude=-7.5)
    again, moved = (f"{HEAD}\nP-1,Serra,Quercus suber,{latitude},-7.5,,\n" for latitude in (40.5, 40.6))

    assert codes(desk.look("populations", again)) == []
    assert codes(desk.look("populations", moved)) == OFFERED[:2]


def test_lots_have_no_place_of_their_own(desk: Any, maker: Any) -> None:
    stand = maker.population(latitude=40.5, longitude=-7.5)
    found = desk.look("lots", f"code,population,collected,amount g\nL/1,{stand.code},2026-10-20,500\n")
    assert codes(found) == []
