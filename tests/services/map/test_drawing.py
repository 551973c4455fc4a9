"""The map's drawing: marks, lines and zones where they belong, and thousands of marks in a moment."""

from __future__ import annotations

import time

import numpy as np
import pytest

from nursery.models.zones import ZoneKind
from nursery.planning.areas import area_of
from nursery.services.map import Flow, MapQuery, Mark, MarkKind, draw_map
from nursery.services.map.drawing import NARROW, WIDE
from nursery.services.map.lining import MOST_LINES
from nursery.services.zones import MapZone


def mark(kind: MarkKind, number: int, latitude: float, longitude: float, species: str = "") -> Mark:
    code = "" if kind is MarkKind.NURSERY else f"{kind.value[0].upper()}-{number}"
    return Mark(kind, number, code, f"{kind.value.capitalize()} {number}", species, latitude, longitude, 300.0)


def flow(population: int, site: int, plants: float) -> Flow:
    return Flow(1, population, site, 1, "L-1", f"P-{population}", f"S-{site}", "Salix alba", 2027, plants, 1000.0)


def zone(code: str, west: float, south: float, size: float, kind: ZoneKind = ZoneKind.REGION) -> MapZone:
    east, north = west + size, south + size
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    area = area_of({"type": "Polygon", "coordinates": [ring]})
    return MapZone(1, kind, code, "", "", None, "", None, None, area)


PLACES = [
    mark(MarkKind.POPULATION, 1, 39.7, -5.9, "Salix alba"),
    mark(MarkKind.POPULATION, 2, 39.701, -5.901, "Salix alba"),
    mark(MarkKind.POPULATION, 3, 39.3, -4.9, "Salix alba"),
    mark(MarkKind.SITE, 1, 39.5, -5.4),
    mark(MarkKind.NURSERY, 1, 39.4, -5.2),
]


def test_without_places_and_zones_there_is_no_map() -> None:
    assert draw_map([], [], [], [], MapQuery()) is None


def test_places_on_each_other_are_one_mark_until_one_zooms_in() -> None:
    whole = draw_map(PLACES, PLACES, [], [], MapQuery())
    close = draw_map(PLACES, PLACES, [], [], MapQuery(latitude=39.7, longitude=-5.9, zoom=7))

    assert whole is not None
    assert close is not None
    assert sorted((one.kind, one.count) for one in whole.marks) == [
        (MarkKind.NURSERY, 1), (MarkKind.POPULATION, 1), (MarkKind.POPULATION, 2), (MarkKind.SITE, 1)
    ]  # fmt: skip
    assert [one.title for one in whole.marks if one.count == 2] == ["2 populations: P-1, P-2. Zoom in."]
    assert [(one.kind, one.count) for one in close.marks] == [(MarkKind.POPULATION, 1), (MarkKind.POPULATION, 1)]
    assert close.marks[0].title == "Population: P-2 · Population 2 · Salix alba"


def test_lines_join_the_marks_and_are_as_wide_as_their_plants_are_many() -> None:
    drawn = draw_map(PLACES, PLACES, [flow(1, 1, 300), flow(2, 1, 100), flow(3, 1, 100)], [], MapQuery())

    assert drawn is not None
    assert [(line.title, line.plants, line.width) for line in drawn.lines] == [
        ("2 populations to S-1: 400 plants", 400, 9.0),
        ("P-3 to S-1: 100 plants", 100, 5.1),
    ]
    marks = {(one.kind, one.count): (round(one.x, 1), round(one.y, 1)) for one in drawn.marks}
    ends = [((line.x1, line.y1), (line.x2, line.y2)) for line in drawn.lines]
    site = marks[MarkKind.SITE, 1]
    assert ends == [(marks[MarkKind.POPULATION, 2], site), (marks[MarkKind.POPULATION, 1], site)]


def test_a_site_and_its_stand_at_one_place_do_not_hide_each_other() -> None:
    same = [mark(MarkKind.POPULATION, 1, 39.5, -5.4), mark(MarkKind.SITE, 1, 39.5, -5.4), PLACES[0]]

    drawn = draw_map(same, same, [], [], MapQuery())

    assert drawn is not None
    first, second = (one for one in drawn.marks if one.members[0].latitude == 39.5)
    assert np.hypot(first.x - second.x, first.y - second.y) >= 23.9


def test_zones_are_named_where_there_is_room_and_those_beyond_the_sheet_are_left_out() -> None:
    zones = [zone("GV-A", -6.5, 39, 1.2), zone("Guadorva", -6.5, 38.5, 2, ZoneKind.BASIN), zone("Far", 10, 10, 1)]

    drawn = draw_map(PLACES, PLACES, [], zones, MapQuery())

    assert drawn is not None
    assert [(one.code, one.label is not None, one.path[:1]) for one in drawn.zones] == [
        ("GV-A", True, "M"), ("Guadorva", True, "M")
    ]  # fmt: skip


def test_zones_alone_make_a_map_too() -> None:
    drawn = draw_map([], [], [], [zone("GV-A", -6.5, 39, 1.2)], MapQuery())

    assert drawn is not None
    assert (len(drawn.zones), drawn.marks) == (1, [])


@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_thousands_of_marks_and_lines_are_drawn_in_a_moment(size: tuple[float, float]) -> None:
    chance = np.random.default_rng(11)
    kinds = [MarkKind.POPULATION] * 5000 + [MarkKind.SITE] * 2000
    places = [
        mark(kind, number, float(lat), float(lon))
        for number, (kind, lat, lon) in enumerate(
            zip(kinds, chance.uniform(39, 40, 7000), chance.uniform(-6, -4.6, 7000), strict=True)
        )
    ]
    flows = [
        flow(int(start), int(end), float(plants))
        for start, end, plants in zip(
            chance.integers(0, 5000, 4000), chance.integers(5000, 7000, 4000), chance.uniform(1, 900, 4000),
            strict=True,
        )
    ]  # fmt: skip

    begun = time.perf_counter()
    drawn = draw_map(places, places, flows, [], MapQuery(), size)

    assert time.perf_counter() - begun < 5
    assert drawn is not None
    assert sum(one.count for one in drawn.marks) == 7000
    assert len(drawn.marks) <= 2 * size[0] * size[1] / 30**2
    assert len(drawn.lines) == MOST_LINES
    assert drawn.lines_left_out > 0
