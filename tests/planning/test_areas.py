"""Points in polygons: inside, outside, in holes, on edges and corners, in several parts."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.areas import INSIDE, ON_EDGE, OUTSIDE, area_of, covers, ground_area, locate

SQUARE = [[0, 0], [4, 0], [4, 4], [0, 4], [0, 0]]
HOLE = [[1, 1], [1, 2], [2, 2], [2, 1], [1, 1]]
RING_ROAD: dict[str, Any] = {"type": "Polygon", "coordinates": [SQUARE, HOLE]}


@pytest.mark.parametrize(
    ("point", "expected"),
    [
        ((3, 3), True),
        ((1.5, 1.5), False),  # in the hole
        ((5, 3), False),
        ((-1, 4), False),  # level with the upper edge
        ((-1, 0), False),  # level with the lower edge
        ((0, 2), True),
        ((4, 4), True),
        ((2, 0), True),
        ((1, 1.5), True),  # on the edge of the hole
        ((2, 2), True),  # on a corner of the hole
        ((4 + 1e-6, 2), False),
        ((3, 1), True),  # level with corners of the hole
    ],
)
def test_a_point_lies_in_the_area_or_not(point: tuple[float, float], expected: bool) -> None:
    assert covers(RING_ROAD, *point).tolist() == [expected]


def test_many_points_are_asked_at_once_of_several_parts() -> None:
    shifted = [[x + 10, y] for x, y in SQUARE]
    both = {"type": "MultiPolygon", "coordinates": [[SQUARE], [shifted]]}

    assert covers(both, [1, 7, 11, 14], [1, 1, 1, 4]).tolist() == [True, False, True, True]


def test_a_ray_through_a_vertex_counts_once() -> None:
    diamond = {"type": "Polygon", "coordinates": [[[0, -1], [1, 0], [0, 1], [-1, 0], [0, -1]]]}

    assert covers(diamond, [-2, 0, 2], [0, 0, 0]).tolist() == [False, True, False]


@given(
    corners=st.integers(3, 40),
    angle=st.floats(0, 2 * math.pi),
    distance=st.floats(0, 2),
    turn=st.floats(0, 1),
)
def test_in_a_regular_polygon_the_distance_from_the_middle_decides(
    corners: int, angle: float, distance: float, turn: float
) -> None:
    around = turn + 2 * math.pi * np.arange(corners + 1) / corners
    ring = np.column_stack([np.cos(around), np.sin(around)])
    ring[-1] = ring[0]
    inner = math.cos(math.pi / corners)
    point = (distance * math.cos(angle), distance * math.sin(angle))

    found = covers({"type": "Polygon", "coordinates": [ring.tolist()]}, *point).tolist()

    if distance < inner - 1e-9:
        assert found == [True]
    elif distance > 1 + 1e-8:
        assert found == [False]


def test_a_line_is_no_area() -> None:
    with pytest.raises(ValueError, match="no polygon: 'LineString'"):
        covers({"type": "LineString", "coordinates": [[0, 0], [1, 1]]}, 0, 0)


def test_an_edge_is_told_from_the_inside() -> None:
    area = area_of(RING_ROAD)

    assert locate(area, [3, 0, 2, 1.5, 9], [3, 2, 2, 1.5, 9]).tolist() == [
        INSIDE, ON_EDGE, ON_EDGE, OUTSIDE, OUTSIDE
    ]  # fmt: skip
    assert area.bounds == (0, 0, 4, 4)


def test_holes_are_no_ground() -> None:
    whole = ground_area(area_of({"type": "Polygon", "coordinates": [SQUARE]}))
    hole = ground_area(area_of({"type": "Polygon", "coordinates": [HOLE]}))

    assert ground_area(area_of(RING_ROAD)) == pytest.approx(whole - hole)


def test_an_octant_is_an_eighth_of_the_earth() -> None:
    # Area of the WGS 84 ellipsoid: 510,065,621.724 km² (GeographicLib documentation, "Geodesics on an ellipsoid";
    # from memory).
    octant = {"type": "Polygon", "coordinates": [[[0, 0], [90, 0], [90, 90], [0, 0]]]}

    assert ground_area(area_of(octant)) == pytest.approx(510_065_621_724_000 / 8, rel=1e-9)
