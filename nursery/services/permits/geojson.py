"""Areas as GeoJSON: read from what a person pasted or uploaded, refused in words, kept as one geometry."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.planning.areas import crosses_itself
from nursery.services.coordinates import known_area, refuse_outside

#: A permit's area is drawn with hundreds of points; beyond this it is a whole coastline.
MOST_POINTS = 5000
MOST_BYTES = 1_000_000
FIELD = "polygon"


def read_area(session: Session, text: str) -> dict[str, Any]:
    """The ``Polygon`` or ``MultiPolygon`` of a GeoJSON text; several polygons become one ``MultiPolygon``.

    Raises
    ------
    Invalid
        At ``polygon``, saying what is wrong and where.
    """
    if len(text.encode()) > MOST_BYTES:
        raise _refusal(_("The area is larger than 1 MB. Simplify it to a few hundred points."))
    try:
        found = json.loads(text, parse_constant=lambda name: math.nan)  # noqa: ARG005 -- NaN is refused below
    except (ValueError, RecursionError):
        raise _refusal(
            _(
                "This is not GeoJSON. Paste the whole text of the file; it begins with { and has"
                ' "type": "Polygon" or "MultiPolygon" in it.'
            )
        ) from None
    parts = [[_ring(ring) for ring in part] for part in _polygons(found)]
    if not parts:
        raise _refusal(
            _("There is no polygon in it. Draw the outline of the area as a polygon and save it again.")
        )
    points = sum(len(ring) for part in parts for ring in part)
    if points > MOST_POINTS:
        raise _refusal(
            _(
                "The area has %(points)s points; at most %(most)s fit. Simplify its outline.",
                points=format_number(points),
                most=format_number(MOST_POINTS),
            )
        )
    _refuse_shape(parts)
    _refuse_place(session, parts)
    if len(parts) == 1:
        return {"type": "Polygon", "coordinates": parts[0]}
    return {"type": "MultiPolygon", "coordinates": parts}


def _refusal(message: str) -> Invalid:
    return Invalid({FIELD: message})


def _polygons(found: Any, depth: int = 0) -> list[list[Any]]:
    """Coordinates of all polygons of a geometry, feature or collection."""
    kind = found.get("type") if isinstance(found, dict) else None
    members: Any = {"Feature": "geometry", "FeatureCollection": "features", "GeometryCollection": "geometries"}
    if kind in members and depth < 5:
        inner = found.get(members[kind])
        many = inner if isinstance(inner, list) else [inner]
        return [part for one in many for part in _polygons(one, depth + 1)]
    coordinates: Any = found.get("coordinates") if isinstance(found, dict) else None
    if kind == "Polygon" and _is_list(coordinates):
        return [coordinates]
    if kind == "MultiPolygon" and _is_list(coordinates) and all(_is_list(part) for part in coordinates):
        return list(coordinates)
    if isinstance(kind, str) and kind in {"Point", "MultiPoint", "LineString", "MultiLineString"}:
        raise _refusal(_("A %(kind)s has no inside. Draw the outline of the area as a polygon.", kind=kind))
    raise _refusal(
        _('The text is no GeoJSON area: it needs "type": "Polygon" or "MultiPolygon" with its "coordinates".')
    )


def _is_list(value: Any) -> bool:
    return isinstance(value, list) and bool(value)


def _ring(ring: Any) -> list[list[float]]:
    """A closed ring of positions, longitude first, cut to seven decimals (a centimetre)."""
    if not _is_list(ring):
        raise _refusal(_("One of the rings of the polygon has no points. Save the area again."))
    points = [_position(position) for position in ring]
    if points[0] != points[-1]:
        raise _refusal(
            _(
                "The outline is not closed: it begins at %(first)s and ends at %(last)s. The last point must be"
                " the first one again.",
                first=_point(points[0]),
                last=_point(points[-1]),
            )
        )
    if len({tuple(point) for point in points}) < 3:
        raise _refusal(_("An outline needs at least three different points."))
    return points


def _position(position: Any) -> list[float]:
    numbers = position[:2] if isinstance(position, list) else []
    if len(numbers) != 2 or not all(_is_number(number) for number in numbers):
        raise _refusal(
            _(
                "“%(what)s” is no point. Each point is [longitude, latitude] in degrees, such as [-5.3, 39.4].",
                what=str(position)[:60],
            )
        )
    longitude, latitude = (round(float(number), 7) for number in numbers)
    if not (-180 <= longitude <= 180 and -90 <= latitude <= 90):
        remedy = (
            _("Longitude and latitude look swapped: GeoJSON has longitude first.")
            if -180 <= latitude <= 180 and -90 <= longitude <= 90
            else _("Points are degrees of WGS 84, longitude first; export the area in that system (EPSG:4326).")
        )
        raise _refusal(
            _("The point %(point)s is off the globe.", point=_point([longitude, latitude])) + " " + remedy
        )
    return [longitude, latitude]


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _point(position: list[float]) -> str:
    return f"[{position[0]:.7g}, {position[1]:.7g}]"


def _refuse_shape(parts: list[list[list[list[float]]]]) -> None:
    for part in parts:
        for ring in part:
            # The same point twice in a row is a slip of the pen, not a crossing.
            tidy = [point for at, point in enumerate(ring) if not at or point != ring[at - 1]]
            if crosses_itself(np.array(tidy, np.float64)):
                raise _refusal(
                    _("The outline crosses itself, so what lies inside is not clear. Draw it without crossings.")
                )


def _refuse_place(session: Session, parts: list[list[list[list[float]]]]) -> None:
    """Swapped points are noticed by their being far from everything on record."""
    points = np.array([point for part in parts for point in part[0]], np.float64)
    longitude, latitude = points.mean(axis=0)
    refused = refuse_outside(known_area(session), float(latitude), float(longitude))
    if refused:
        raise _refusal(
            _(
                "The area lies around latitude %(latitude)s, longitude %(longitude)s, far from all your records,"
                " but turned round it lies among them. GeoJSON has longitude first, then latitude: swap them.",
                latitude=format_number(float(latitude), 3),
                longitude=format_number(float(longitude), 3),
            )
        )
