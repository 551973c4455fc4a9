"""Places in official areas: species with areas of their own, altitude limits, boundaries."""

from __future__ import annotations

import numpy as np

from nursery.planning.areas import Area, area_of
from nursery.planning.zoning import ANY, ZoneShape, zones_of


def square(west: float, south: float, size: float = 1.0) -> Area:
    east, north = west + size, south + size
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    return area_of({"type": "Polygon", "coordinates": [ring]})


WEST, EAST = ZoneShape(square(0, 0)), ZoneShape(square(1, 0))


def found(
    zones: list[ZoneShape], x: list[float], elevation: list[float], species: list[int]
) -> list[list[object]]:
    return zones_of(zones, x, [0.5] * len(x), elevation, species).to_numpy().tolist()


def test_each_place_is_found_in_its_area_and_the_boundary_is_in_both() -> None:
    nowhere = np.nan

    assert found([WEST, EAST], [0.5, 1.0, 1.5, 7.0], [nowhere] * 4, [ANY] * 4) == [
        [0, 0, False, False], [1, 0, True, False], [1, 1, True, False], [2, 1, False, False],
    ]  # fmt: skip


def test_a_species_with_areas_of_its_own_follows_those_only() -> None:
    own = ZoneShape(square(0, 0, 3), species=7)

    assert found([WEST, own], [0.5, 0.5, 2.5], [np.nan] * 3, [ANY, 7, 7]) == [
        [0, 0, False, False], [1, 1, False, False], [2, 1, False, False],
    ]  # fmt: skip
    assert found([own], [0.5, 0.5], [np.nan] * 2, [ANY, 8]) == []


def test_altitude_limits_are_heeded_and_belong_to_the_area() -> None:
    low, high = ZoneShape(square(0, 0), highest_m=600), ZoneShape(square(0, 0), lowest_m=600, highest_m=1200)

    assert found([low, high], [0.5] * 5, [100, 600, 900, 1500, np.nan], [ANY] * 5) == [
        [0, 0, False, False], [1, 0, False, False], [1, 1, False, False], [2, 1, False, False],
        [4, 0, False, True], [4, 1, False, True],
    ]  # fmt: skip


def test_without_areas_no_place_lies_in_one() -> None:
    assert found([], [0.5], [np.nan], [ANY]) == []
