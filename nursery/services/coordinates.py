"""Points on the map: on the globe, and not swapped by mistake."""

from __future__ import annotations

from sqlalchemy import func, select, union_all
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models import Nursery, Population, Site
from nursery.services.limits import refuse_coordinates

#: A point this far (degrees) outside the records is strange; one this near to them is at home.
FAR, NEAR = 5.0, 1.0


def refuse_misplaced(session: Session, latitude: float, longitude: float) -> dict[str, str]:
    """What is wrong with a point, by field.

    Off the globe, or far from all other records while the same numbers the other way round lie among them.
    """
    refused = refuse_coordinates(latitude, longitude)
    if refused or _within(area := _area(session), latitude, longitude, FAR) is not False:
        return refused
    if not _within(area, longitude, latitude, NEAR):
        return {}
    return {
        "latitude": _(
            "%(latitude)s, %(longitude)s is far from all your records, but turned round it lies among them."
            " Latitude and longitude look swapped: latitude comes first.",
            latitude=latitude,
            longitude=longitude,
        )
    }


def _area(session: Session) -> tuple[float, ...] | None:
    points = union_all(
        *(
            select(model.latitude, model.longitude).where(model.archived_at.is_(None))
            for model in (Population, Site, Nursery)
        )
    ).subquery()
    latitude, longitude = points.c
    bounds = session.execute(
        select(func.min(latitude), func.max(latitude), func.min(longitude), func.max(longitude))
    ).one()
    return None if bounds[0] is None else tuple(bounds)


def _within(area: tuple[float, ...] | None, latitude: float, longitude: float, margin: float) -> bool | None:
    if area is None:
        return None
    south, north, west, east = area
    return south - margin <= latitude <= north + margin and west - margin <= longitude <= east + margin
