"""Looking at a file of zones: guesses, counts, and each fault with its place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Upload
from nursery.models.zones import Zone, ZoneKind
from nursery.services.zones import ZoneSettings, keep_zone_file, look_at_file, write_zones
from tests.services.zones.conftest import feature, square

SAID = {"source": "Decree of the example council, 2008"}
Keep = Callable[..., Upload]


def faults(session: Session, upload: Upload, **asked: Any) -> list[tuple[int, str, str]]:
    look = look_at_file(session, upload, {**SAID, **asked})
    return [(row.number, ring, message) for row in look.rows for ring, message in row.problems]


def test_code_name_and_limits_are_guessed_and_places_counted(session: Session, keep: Keep, maker: Any) -> None:
    maker.population(latitude=40.1, longitude=-7.5, elevation_m=300)
    maker.population(latitude=40.1, longitude=-7.5, elevation_m=900)
    maker.site(latitude=40.2, longitude=-7.4)
    upload = keep(
        feature(square(-8, 40), COD_RP="07", NOMBRE="Upper valley", ALT_MIN=200, ALT_MAX="600", year=2008),
        feature(square(-7, 40), COD_RP="08", NOMBRE="Lower valley", ALT_MIN=None, ALT_MAX=None, year=2008),
    )

    look = look_at_file(session, upload, SAID)

    assert look.settings == ZoneSettings(
        ZoneKind.REGION, None, "", SAID["source"], False, "COD_RP", "NOMBRE", "ALT_MIN", "ALT_MAX"
    )
    told = [(row.code, row.name, row.lowest_m, row.highest_m, row.points) for row in look.rows]
    assert told == [("07", "Upper valley", 200, 600, 5), ("08", "Lower valley", None, None, 5)]
    assert [(row.populations, row.sites) for row in look.rows] == [(1, 1), (0, 0)]
    # Closed form of a quadrangle on the ellipsoid between parallels 40 and 41, a degree wide (Snyder 1987, from
    # memory), whose edges are parallels and not geodesics.
    assert look.rows[0].area_km2 == pytest.approx(9412.8, rel=1e-3)
    assert look.is_sound is True


def test_a_zone_for_one_species_counts_that_species(session: Session, keep: Keep, maker: Any) -> None:
    oak = maker.population(latitude=40.1, longitude=-7.5)
    maker.population(latitude=40.1, longitude=-7.5, species=maker.species("salix-alba"))
    upload = keep(feature(square(-8, 40), code="A"))

    look = look_at_file(session, upload, {**SAID, "species_id": oak.species_id})

    assert [(row.populations, row.sites) for row in look.rows] == [(1, 0)]


def test_a_number_is_a_code_without_decimals(session: Session, keep: Keep) -> None:
    look = look_at_file(session, keep(feature(square(-8, 40), id=12.0), feature(square(-7, 40), id=13.0)), SAID)

    assert [row.code for row in look.rows] == ["12", "13"]


def test_a_crossing_is_told_with_feature_ring_and_point(session: Session, keep: Keep) -> None:
    bow_tie = [[-8.0, 40.0], [-7.0, 41.0], [-7.0, 40.0], [-8.0, 41.0], [-8.0, 40.0]]

    assert faults(session, keep(feature(square(-9, 40), code="A"), feature(bow_tie, code="B"))) == [
        (
            2,
            "outline",
            (
                "The outline crosses itself at [-7.5, 40.5], where the edges after its points 1 and 3 "
                "meet, so what lies inside is not clear. Draw it without crossings."
            ),
        )
    ]


def test_a_ring_that_is_not_closed_is_told_with_its_part(session: Session, keep: Keep) -> None:
    parts = {"type": "MultiPolygon", "coordinates": [[square(-8, 40)], [square(-6, 40)[:-1]]]}

    assert faults(session, keep({"type": "Feature", "properties": {"code": "A"}, "geometry": parts})) == [
        (
            1,
            "outline of part 2",
            (
                "The outline is not closed: it begins at [-6, 40] and ends at [-6, 41]. The last point "
                "must be the first one again."
            ),
        )
    ]


def test_a_hole_outside_its_outline_is_refused(session: Session, keep: Keep) -> None:
    geometry = {"type": "Polygon", "coordinates": [square(-8, 40), square(-5, 40)]}

    assert faults(session, keep({"type": "Feature", "properties": {"code": "A"}, "geometry": geometry})) == [
        (1, "hole 1", "This hole lies outside its outline, at [-5, 40]. Save it as a polygon of its own.")
    ]


def test_swapped_latitude_and_longitude_are_refused(session: Session, keep: Keep, maker: Any) -> None:
    maker.site(latitude=40.2, longitude=-7.4)
    turned = [[y, x] for x, y in square(-8, 40)]

    assert faults(session, keep(feature(turned, code="A"))) == [
        (
            1,
            "",
            (
                "The area lies around latitude -7.6, longitude 40.4, far from all your records, but "
                "turned round it lies among them. GeoJSON has longitude first, then latitude: swap "
                "them."
            ),
        )
    ]


def test_projected_coordinates_are_refused(session: Session, keep: Keep) -> None:
    metres = [[x * 1e5, y * 1e5] for x, y in square(6, 43)]
    named = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::25830"}}

    assert faults(session, keep(feature(metres, code="A"))) == [
        (
            1,
            "outline",
            (
                "The point [600000, 4300000] is off the globe. Points are degrees of WGS 84, longitude "
                "first; export the area in that system (EPSG:4326)."
            ),
        )
    ]
    assert look_at_file(session, keep(feature(square(-8, 40), code="A"), crs=named), SAID).problems == [
        (
            "The file says that its coordinates are in the system “urn:ogc:def:crs:EPSG::25830”. "
            "Export it again in longitude and latitude of WGS 84 (EPSG:4326)."
        ),
    ]


def test_a_code_twice_in_the_file_or_on_the_map_is_refused(session: Session, keep: Keep) -> None:
    twice = keep(feature(square(-8, 40), code="A"), feature(square(-7, 40), code="A"))
    assert faults(session, twice) == [
        (
            2,
            "",
            (
                "Feature 1 has the code “A” too. Join the two into one MultiPolygon, or choose another "
                "property for the code."
            ),
        )
    ]
    write_zones(session, "Ana Seabra", upload=keep(feature(square(-8, 40), code="A")), asked=SAID)

    again = keep(feature(square(-8.1, 40), code="A"))

    assert faults(session, again) == [
        (
            1,
            "",
            "A zone with the code “A” is on the map already. Let the new one take its place, or leave it out.",
        )
    ]
    assert faults(session, again, replaces=True) == []
    assert faults(session, again, jurisdiction="Elsewhere") == []
    assert faults(session, again, kind=ZoneKind.BASIN) == []


def test_replaced_zones_are_archived(session: Session, keep: Keep) -> None:
    write_zones(session, "Ana Seabra", upload=keep(feature(square(-8, 40), code="A")), asked=SAID)

    write_zones(
        session,
        "Ana Seabra",
        upload=keep(feature(square(-8.1, 40), code="A")),
        asked={**SAID, "replaces": True},
    )

    assert [(zone.code, zone.archived_at is None) for zone in session.query(Zone).order_by(Zone.id)] == [
        ("A", False), ("A", True)
    ]  # fmt: skip


def test_a_code_longer_than_records_can_bear_is_refused(session: Session, keep: Keep) -> None:
    long = "Region of the upper valley"

    assert faults(session, keep(feature(square(-8, 40), code=long))) == [
        (
            1,
            "",
            f"“{long}…” has 26 characters; at most 24 fit. Choose the property with the short code.",
        )
    ]
    assert faults(session, keep(feature(square(-8, 40), code=long)), kind=ZoneKind.BASIN) == []


def test_limits_the_wrong_way_round_are_refused(session: Session, keep: Keep) -> None:
    assert faults(session, keep(feature(square(-8, 40), code="A", alt_min=900, alt_max=300))) == [
        (1, "", "The zone ends at 300 m, below where it begins, at 900 m. Swap the two.")
    ]


def test_without_a_source_or_a_code_nothing_can_be_written(session: Session, keep: Keep) -> None:
    look = look_at_file(session, keep(feature(square(-8, 40)), feature(square(-7, 40))), {})

    assert (look.is_sound, look.problems) == (
        False,
        [
            "Choose the property that holds the code: each zone needs a code of its own.",
            "Write down where the outlines were published, and when.",
        ],
    )


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"\xff\xfe\x00", "This file is no text, so it is no GeoJSON. Choose another."),
        (
            b'{"type": "FeatureCollection", "features": []}',
            "There is no feature in this file. Export the layer again.",
        ),
    ],
)
def test_what_is_no_geojson_is_not_kept(session: Session, content: bytes, message: str) -> None:
    with pytest.raises(Invalid) as refused:
        keep_zone_file(session, "Ana Seabra", file_name="x.geojson", content=content)
    assert refused.value.errors == {"file": message}
