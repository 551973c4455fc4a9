"""Outlines as GeoJSON: what permits and official zones have in common when they read a person's file.

Mistakes are told with the part, the ring and the point; the caller says whose outline it is.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from sqlalchemy.orm import Session

from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.planning.areas import INSIDE, area_of, locate
from nursery.planning.rings import first_crossing
from nursery.services.coordinates import Area, known_area, refuse_outside

Ring = list[list[float]]
Part = list[Ring]
#: Wrappings of a geometry, and where each keeps what is in it.
_MEMBERS = {"Feature": "geometry", "FeatureCollection": "features", "GeometryCollection": "geometries"}
_DEEPEST = 5
#: Names under which files say that they are in longitude and latitude of WGS 84.
_WGS84 = ("CRS84", "4326", "WGS84", "WGS 84")


class OutlineError(Exception):
    """What is wrong with an outline, and in which ring, in words; empty where it is no one ring's fault."""

    def __init__(self, message: str, ring: str = "") -> None:
        super().__init__(message)
        self.message, self.ring = message, ring


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing of a file, by its place in it, with what is written about it."""

    number: int
    properties: dict[str, Any]
    geometry: Any


def read_json(text: str) -> Any:
    """The object of a text; raises OutlineError when it is none."""
    try:
        return json.loads(text, parse_constant=lambda name: math.nan)  # noqa: ARG005 -- NaN is refused at its point
    except (ValueError, RecursionError):
        raise OutlineError(
            _(
                "This is not GeoJSON. Paste the whole text of the file; it begins with { and has"
                ' "type": "Polygon" or "MultiPolygon" in it.'
            )
        ) from None


def refuse_projected(found: Any) -> None:
    """Refuse a file that says that its numbers are not longitude and latitude of WGS 84."""
    crs = found.get("crs") if isinstance(found, dict) else None
    properties = crs.get("properties") if isinstance(crs, dict) else None
    name = properties.get("name") if isinstance(properties, dict) else None
    if isinstance(name, str) and not any(word in name.upper() for word in _WGS84):
        raise OutlineError(
            _(
                "The file says that its coordinates are in the system “%(name)s”. Export it again in longitude and"
                " latitude of WGS 84 (EPSG:4326).",
                name=name[:60],
            )
        )


def features_of(found: Any) -> list[Feature]:
    """The features of a file; a geometry without a wrapping counts as one."""
    if isinstance(found, dict) and found.get("type") == "FeatureCollection":
        inner = found.get("features")
        many = inner if isinstance(inner, list) else [inner]
    else:
        many = [found]
    return [_feature(number, one) for number, one in enumerate(many, 1)]


def _feature(number: int, found: Any) -> Feature:
    if not isinstance(found, dict) or found.get("type") != "Feature":
        return Feature(number, {}, found)
    properties = found.get("properties")
    return Feature(number, properties if isinstance(properties, dict) else {}, found.get("geometry"))


def read_parts(geometry: Any) -> list[Part]:
    """Polygons of a geometry in whatever it is wrapped, closed and without crossings; raises OutlineError."""
    parts = list(_polygons(geometry))
    return [_part(part, number if len(parts) > 1 else 0) for number, part in enumerate(parts, 1)]


def as_geometry(parts: list[Part]) -> dict[str, Any]:
    """One polygon, or several together."""
    if len(parts) == 1:
        return {"type": "Polygon", "coordinates": parts[0]}
    return {"type": "MultiPolygon", "coordinates": parts}


def count_points(parts: list[Part]) -> int:
    """Points of all rings."""
    return sum(len(ring) for part in parts for ring in part)


def refuse_swapped(session: Session, parts: list[Part]) -> None:
    """Swapped points are noticed by their being far from everything on record."""
    refuse_swapped_near(known_area(session), parts)


def refuse_swapped_near(area: Area | None, parts: list[Part]) -> None:
    """The same against an area that was read before, for many outlines at once."""
    points = np.array([point for part in parts for point in part[0]], np.float64)
    longitude, latitude = (float(value) for value in points.mean(axis=0))
    if refuse_outside(area, latitude, longitude):
        raise OutlineError(
            _(
                "The area lies around latitude %(latitude)s, longitude %(longitude)s, far from all your records,"
                " but turned round it lies among them. GeoJSON has longitude first, then latitude: swap them.",
                latitude=format_number(latitude, 3),
                longitude=format_number(longitude, 3),
            )
        )


def _polygons(found: Any, depth: int = 0) -> Iterator[list[Any]]:
    """Coordinates of all polygons of a geometry, feature or collection."""
    kind = found.get("type") if isinstance(found, dict) else None
    if kind in _MEMBERS and depth < _DEEPEST:
        inner = found.get(_MEMBERS[kind])
        for one in inner if isinstance(inner, list) else [inner]:
            yield from _polygons(one, depth + 1)
        return
    coordinates: Any = found.get("coordinates") if isinstance(found, dict) else None
    if kind == "Polygon" and _is_list(coordinates):
        yield coordinates
    elif kind == "MultiPolygon" and _is_list(coordinates) and all(_is_list(part) for part in coordinates):
        yield from coordinates
    elif isinstance(kind, str) and kind in {"Point", "MultiPoint", "LineString", "MultiLineString"}:
        raise OutlineError(_("A %(kind)s has no inside. Draw the outline of the area as a polygon.", kind=kind))
    else:
        raise OutlineError(
            _('The text is no GeoJSON area: it needs "type": "Polygon" or "MultiPolygon" with its "coordinates".')
        )


def _is_list(value: Any) -> bool:
    return isinstance(value, list) and bool(value)


def _part(rings: list[Any], number: int) -> Part:
    part = [_ring(ring, _ring_name(number, at)) for at, ring in enumerate(rings)]
    arrays = [np.array(ring, np.float64) for ring in part]
    crossing = first_crossing(arrays)
    if crossing is not None:
        name = _ring_name(number, crossing.ring)
        place = {"point": _point(list(crossing.at)), "edge": crossing.edge + 1, "other": crossing.other_edge + 1}
        if crossing.ring == crossing.other_ring:
            raise OutlineError(
                _(
                    "The outline crosses itself at %(point)s, where the edges after its points %(edge)s and"
                    " %(other)s meet, so what lies inside is not clear. Draw it without crossings.",
                    **place,
                ),
                name,
            )
        raise OutlineError(
            _(
                "It crosses the %(ring)s at %(point)s, so what lies inside is not clear. Draw them apart.",
                ring=_ring_name(number, crossing.other_ring),
                **place,
            ),
            name,
        )
    _refuse_holes_outside(arrays, number)
    return part


def _refuse_holes_outside(rings: list[Any], number: int) -> None:
    """A hole that lies outside its outline would be taken for ground."""
    outer = area_of({"type": "Polygon", "coordinates": [rings[0].tolist()]})
    for at, hole in enumerate(rings[1:], 1):
        if not (locate(outer, hole[:, 0], hole[:, 1]) >= INSIDE).all():
            raise OutlineError(
                _(
                    "This hole lies outside its outline, at %(point)s. Save it as a polygon of its own.",
                    point=_point(hole[0].tolist()),
                ),
                _ring_name(number, at),
            )


def _ring_name(part: int, ring: int) -> str:
    """A ring in words; parts are named only where there are several."""
    if not ring:
        return _("outline of part %(part)s", part=part) if part else _("outline")
    return _("hole %(hole)s of part %(part)s", hole=ring, part=part) if part else _("hole %(hole)s", hole=ring)


def _ring(ring: Any, name: str) -> Ring:
    """A closed ring of positions, longitude first, cut to seven decimals (a centimetre)."""
    if not _is_list(ring):
        raise OutlineError(_("One of the rings of the polygon has no points. Save the area again."), name)
    points = [_position(position, name) for position in ring]
    if points[0] != points[-1]:
        raise OutlineError(
            _(
                "The outline is not closed: it begins at %(first)s and ends at %(last)s. The last point must be"
                " the first one again.",
                first=_point(points[0]),
                last=_point(points[-1]),
            ),
            name,
        )
    for first, second in pairwise(points):
        if abs(first[0] - second[0]) > 180:  # such an edge would be drawn the long way, round the whole globe
            raise OutlineError(
                _(
                    "The edge from %(first)s to %(second)s leads over the 180th meridian. Cut the area there, into"
                    " one part on either side.",
                    first=_point(first),
                    second=_point(second),
                ),
                name,
            )
    # The same point twice in a row is a slip of the pen, not a crossing.
    points = [point for at, point in enumerate(points) if not at or point != points[at - 1]]
    if len(points) < 4:
        raise OutlineError(_("An outline needs at least three different points."), name)
    return points


def _position(position: Any, name: str) -> list[float]:
    numbers = position[:2] if isinstance(position, list) else []
    if len(numbers) != 2 or not all(_is_number(number) for number in numbers):
        raise OutlineError(
            _(
                "“%(what)s” is no point. Each point is [longitude, latitude] in degrees, such as [-5.3, 39.4].",
                what=str(position)[:60],
            ),
            name,
        )
    longitude, latitude = (round(float(number), 7) for number in numbers)
    if not (-180 <= longitude <= 180 and -90 <= latitude <= 90):
        remedy = (
            _("Longitude and latitude look swapped: GeoJSON has longitude first.")
            if -180 <= latitude <= 180 and -90 <= longitude <= 90
            else _("Points are degrees of WGS 84, longitude first; export the area in that system (EPSG:4326).")
        )
        raise OutlineError(
            _("The point %(point)s is off the globe.", point=_point([longitude, latitude])) + " " + remedy, name
        )
    return [longitude, latitude]


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _point(position: list[float]) -> str:
    return f"[{position[0]:.7g}, {position[1]:.7g}]"
