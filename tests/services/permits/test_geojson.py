"""Areas as people paste them: every GeoJSON wrapping, and each mistake told in words."""

from __future__ import annotations

import json
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.services.permits.geojson import read_area

RING = [[-5.9, 39.2], [-4.9, 39.2], [-4.9, 39.8], [-5.9, 39.2]]
POLYGON = {"type": "Polygon", "coordinates": [RING]}


@pytest.mark.parametrize(
    "wrapped",
    [
        POLYGON,
        {"type": "Feature", "properties": None, "geometry": POLYGON},
        {"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": POLYGON}]},
        {"type": "GeometryCollection", "geometries": [POLYGON]},
        {"type": "Polygon", "coordinates": [[[x, y, 312.0] for x, y in RING]]},
    ],
)
def test_a_polygon_is_found_in_whatever_it_is_wrapped(session: Session, wrapped: Any) -> None:
    assert read_area(session, json.dumps(wrapped)) == POLYGON


def test_several_polygons_become_one_area(session: Session) -> None:
    both = {"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": POLYGON}] * 2}

    assert read_area(session, json.dumps(both)) == {"type": "MultiPolygon", "coordinates": [[RING], [RING]]}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("39.2, -5.9", "This is not GeoJSON. Paste the whole text of the file"),
        ("[" * 5000, "This is not GeoJSON."),
        ("[]", "The text is no GeoJSON area: it needs"),
        ('{"type": "Topology"}', "The text is no GeoJSON area: it needs"),
        ('{"type": "FeatureCollection", "features": []}', "There is no polygon in it."),
        ('{"type": "Point", "coordinates": [1, 2]}', "A Point has no inside."),
        ('{"type": "Polygon", "coordinates": [[]]}', "One of the rings of the polygon has no points."),
        ('{"type": "Polygon", "coordinates": [[[1, 2], "x"]]}', "“x” is no point."),
        ('{"type": "Polygon", "coordinates": [[[1, NaN]]]}', "“[1, nan]” is no point."),
        (
            '{"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1]]]}',
            "The outline is not closed: it begins at [0, 0] and ends at [1, 1].",
        ),
        (
            '{"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [0, 0]]]}',
            "An outline needs at least three different points.",
        ),
        (
            '{"type": "Polygon", "coordinates": [[[179, 0], [-179, 0], [-179, 1], [179, 1], [179, 0]]]}',
            "The edge from [179, 0] to [-179, 0] leads over the 180th meridian. Cut the area there",
        ),
        (
            '{"type": "Polygon", "coordinates": [[[0, 0], [2, 2], [2, 0], [0, 2], [0, 0]]]}',
            "The outline crosses itself",
        ),
        (
            '{"type": "Polygon", "coordinates": [[[39.2, 120.5]]]}',
            "The point [39.2, 120.5] is off the globe. Longitude and latitude look swapped",
        ),
        (
            '{"type": "Polygon", "coordinates": [[[629000, 4380000]]]}',
            "The point [629000, 4380000] is off the globe. Points are degrees of WGS 84, longitude first;",
        ),
    ],
)
def test_what_is_no_area_is_refused_with_the_remedy(session: Session, text: str, message: str) -> None:
    with pytest.raises(Invalid) as refused:
        read_area(session, text)
    assert list(refused.value.errors) == ["polygon"]
    assert refused.value.errors["polygon"].startswith(message)


def test_swapped_points_are_noticed_by_the_records(session: Session, maker: Any) -> None:
    maker.population(latitude=39.5, longitude=-5.4)
    turned = {"type": "Polygon", "coordinates": [[[y, x] for x, y in RING]]}

    with pytest.raises(Invalid, match="GeoJSON has longitude first, then latitude: swap them"):
        read_area(session, json.dumps(turned))
    assert read_area(session, json.dumps(POLYGON)) == POLYGON


def test_a_whole_coastline_is_too_much(session: Session) -> None:
    ring = [[at / 1e5, 0.0] for at in range(5001)] + [[0.0, 1.0], [0.0, 0.0]]
    with pytest.raises(Invalid, match="The area has 5,003 points; at most 5,000 fit"):
        read_area(session, json.dumps({"type": "Polygon", "coordinates": [ring]}))
