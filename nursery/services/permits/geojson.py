"""The area of a permit as GeoJSON: read from what a person pasted or uploaded, kept as one geometry."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.services.outlines import (
    OutlineError,
    Part,
    as_geometry,
    count_points,
    features_of,
    read_json,
    read_parts,
    refuse_projected,
    refuse_swapped,
)

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
        raise Invalid({FIELD: _("The area is larger than 1 MB. Simplify it to a few hundred points.")})
    try:
        parts = _parts(text)
        refuse_swapped(session, parts)
    except OutlineError as bad:
        raise Invalid({FIELD: bad.message}) from None
    return as_geometry(parts)


def _parts(text: str) -> list[Part]:
    found = read_json(text)
    refuse_projected(found)
    parts = [part for feature in features_of(found) for part in read_parts(feature.geometry)]
    if not parts:
        raise OutlineError(
            _("There is no polygon in it. Draw the outline of the area as a polygon and save it again.")
        )
    if (points := count_points(parts)) > MOST_POINTS:
        raise OutlineError(
            _(
                "The area has %(points)s points; at most %(most)s fit. Simplify its outline.",
                points=format_number(points),
                most=format_number(MOST_POINTS),
            )
        )
    return parts
