"""What the map says of places: verified, otherwise, offered, or nothing; filled in, and taken over."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.models import Population, Site
from nursery.models.zones import Zone, ZoneKind
from nursery.services.populations import change_population, create_population
from nursery.services.sites import create_site
from nursery.services.zones import own_regions, place_records, said, take_over
from tests.services.zones.conftest import square


def zone(session: Session, code: str, west: float, **values: Any) -> Zone:
    geometry = {"type": "Polygon", "coordinates": [square(west, 40)]}
    made = Zone(**{"kind": ZoneKind.REGION, "code": code, "geometry": geometry, **values})
    session.add(made)
    session.flush()
    return made


def says(session: Session, row: Any, kind: ZoneKind = ZoneKind.REGION) -> str:
    return said(place_records(session, type(row), [row.id])[row.id][kind])


def test_a_record_is_verified_contradicted_or_offered_a_code(session: Session, maker: Any) -> None:
    zone(session, "GV-B", -8)
    at = {"latitude": 40.5, "longitude": -7.5}

    assert says(session, maker.site(**at, region_code="GV-B")) == "Verified on the map."
    assert says(session, maker.site(**at, region_code="GV-M")) == "The map says GV-B, the record says GV-M."
    assert says(session, maker.site(**at)) == "The map says GV-B; the record says nothing."
    assert says(session, maker.site(latitude=40.5, longitude=-3, region_code="GV-M")) == (
        "Not verified on a map. No zone on the map covers this point."
    )
    assert says(session, maker.site(**at, basin="Guadorva"), ZoneKind.BASIN) == (
        "Not verified on a map. No river basins are on the map yet."
    )


def test_boundaries_and_overlaps_are_told(session: Session, maker: Any) -> None:
    zone(session, "GV-A", -8)
    zone(session, "GV-M", -7)
    zone(session, "GV-X", -7.6)

    assert says(session, maker.site(latitude=40.5, longitude=-7.0, region_code="GV-M")) == (
        "Verified on the map. The point lies in GV-A, GV-X too: the zones overlap here. The point lies on the"
        " boundary of GV-A, GV-M, which belongs to it."
    )
    assert says(session, maker.site(latitude=40.5, longitude=-7.5, region_code="ZB-1")) == (
        "The map says GV-A or GV-X, the record says ZB-1."
    )


def test_a_species_with_zones_of_its_own_follows_those(session: Session, maker: Any) -> None:
    oak, willow = maker.species("quercus-suber"), maker.species("salix-alba")
    zone(session, "GV-A", -8)
    zone(session, "OAK-1", -8, species_id=oak.id)
    at = {"latitude": 40.5, "longitude": -7.5, "region_code": "GV-A"}

    assert says(session, maker.population(**at, species=willow)) == "Verified on the map."
    assert says(session, maker.population(**at, species=oak)) == "The map says OAK-1, the record says GV-A."
    assert says(session, maker.site(**at)) == "Verified on the map."


def test_a_site_has_a_region_for_each_species_with_zones_of_its_own(session: Session, maker: Any) -> None:
    oak, willow = maker.species("quercus-suber"), maker.species("salix-alba")
    zone(session, "OAK-1", -8, species_id=oak.id)
    zone(session, "OAK-2", -8, species_id=oak.id, lowest_m=600)
    zone(session, "WILLOW-1", -3, species_id=willow.id)
    low, unknown = (maker.site(latitude=40.5, longitude=-7.5, elevation_m=height) for height in (300, None))
    oaks, willows = (oak.id, oak.scientific_name), (willow.id, willow.scientific_name)

    assert own_regions(session, [low.id, unknown.id]) == {
        low.id: {oaks: ("OAK-1",), willows: ()},
        unknown.id: {oaks: ("OAK-1",), willows: ()},
    }


def test_altitude_limits_are_heeded(session: Session, maker: Any) -> None:
    zone(session, "GV-A", -8, lowest_m=600)
    at = {"latitude": 40.5, "longitude": -7.5, "region_code": "GV-A"}

    assert says(session, maker.site(**at, elevation_m=700)) == "Verified on the map."
    assert says(session, maker.site(**at, elevation_m=500)) == (
        "Not verified on a map. No zone on the map covers this point."
    )
    assert says(session, maker.site(**at)) == (
        "Not verified on a map. No zone on the map covers this point. It lies within the outline of GV-A, which"
        " has altitude limits. Write the elevation down."
    )


def test_an_archived_zone_is_off_the_map(session: Session, maker: Any) -> None:
    zone(session, "GV-A", -8, archived_at=dt.datetime.now(dt.UTC))

    assert says(session, maker.site(latitude=40.5, longitude=-7.5, region_code="GV-A")) == (
        "Not verified on a map. No regions of provenance are on the map yet."
    )


def test_many_places_cost_no_more_queries_than_one(
    session: Session, engine: Engine, maker: Any, count_queries: Any
) -> None:
    zone(session, "GV-A", -8)
    ids = [maker.population(latitude=40.5, longitude=-7.5).id for _one in range(30)]
    place_records(session, Population, ids[:1])

    with count_queries(engine) as statements:
        found = place_records(session, Population, ids)

    assert (len(statements), len(found)) == (2, 30)


def test_what_is_left_empty_is_filled_in_from_the_map(session: Session, maker: Any, today: dt.date) -> None:
    zone(session, "GV-B", -8)
    zone(session, "Guadorva", -8, kind=ZoneKind.BASIN)
    values = {"name": "Mill race", "latitude": 40.5, "longitude": -7.5, "basin": "", "elevation_m": None}

    empty = create_site(session, "Ana Seabra", values={**values, "region_code": ""}, today=today)
    typed = create_population(
        session,
        "Ana Seabra",
        values={**values, "region_code": "GV-M", "species_id": maker.species().id},
        today=today,
    )

    assert (empty.region_code, empty.basin) == ("GV-B", "Guadorva")
    assert (typed.region_code, typed.basin) == ("GV-M", "Guadorva")


def test_what_was_left_empty_stays_so_until_the_place_is_moved(
    session: Session, maker: Any, today: dt.date
) -> None:
    row = maker.population(latitude=40.5, longitude=-7.5)
    zone(session, "GV-B", -8)
    values = {"name": "Mill race", "region_code": "", "basin": ""}

    stays = change_population(
        session, "Ana Seabra", row=row, values={**values, "latitude": 40.5, "longitude": -7.5}, today=today
    )
    assert stays.region_code == ""
    moved = change_population(
        session, "Ana Seabra", row=row, values={**values, "latitude": 40.6, "longitude": -7.5}, today=today
    )
    assert moved.region_code == "GV-B"


def test_two_possible_codes_are_not_chosen_between(session: Session, today: dt.date) -> None:
    zone(session, "GV-A", -8)
    zone(session, "GV-B", -7.9)
    values = {"name": "Mill race", "latitude": 40.5, "longitude": -7.5, "region_code": "", "basin": ""}

    assert create_site(session, "Ana Seabra", values=values, today=today).region_code == ""


def test_the_code_of_the_map_is_taken_over_as_long_as_the_map_says_so(session: Session, maker: Any) -> None:
    zone(session, "GV-B", -8)
    row = maker.site(latitude=40.5, longitude=-7.5, region_code="GV-M")

    take_over(session, "Ana Seabra", row=row, kind=ZoneKind.REGION, code="GV-B")

    assert session.get_one(Site, row.id).region_code == "GV-B"
    with pytest.raises(Conflict, match="The map no longer says GV-Z here"):
        take_over(session, "Ana Seabra", row=row, kind=ZoneKind.REGION, code="GV-Z")
