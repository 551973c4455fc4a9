"""Points on the map: on the globe, and not swapped by mistake."""

from __future__ import annotations

from sqlalchemy import func, select, union_all
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models import Nursery, Population, Site
from nursery.services.limits import refuse_coordinates

#: A point this far (degrees) outside the records is strange; one this near to them is at home.
FAR, NEAR = 5.0, 1.0


#: South, north, west, east of all records in use.
Area = tuple[float, float, float, float]
#: Latitude and longitude of a record as it stands; either is None where it has none.
Point = tuple[float | None, float | None]


def refuse_misplaced(
    session: Session, latitude: float, longitude: float, was: Point | None = None
) -> dict[str, str]:
    """What is wrong with a point, by field.

    Off the globe, or far from all other records while the same numbers the other way round lie among them.
    ``was`` is where the record lay until now: turning it round corrects a swap that nothing could tell at first.
    """
    return refuse_outside(known_area(session), latitude, longitude, was)


def refuse_outside(
    area: Area | None, latitude: float, longitude: float, was: Point | None = None
) -> dict[str, str]:
    """The same for a point against an area that was read before, for many points at once."""
    refused = refuse_coordinates(latitude, longitude)
    if refused or _within(area, latitude, longitude, FAR) is not False or _turns_round(was, latitude, longitude):
        return refused
    if not _within(area, longitude, latitude, NEAR):
        return {}
    return {
        "latitude": _(
            "%(latitude)s, %(longitude)s is far from all your records, but turned round it lies among them."
            " Latitude and longitude look swapped: latitude comes first. If this point is right, the places"
            " written down before are the swapped ones: correct those first.",
            latitude=latitude,
            longitude=longitude,
        )
    }


def known_area(session: Session) -> Area | None:
    """Where the populations, sites and nurseries in use lie; None when there are none."""
    points = union_all(
        *(
            select(model.latitude, model.longitude).where(model.archived_at.is_(None))
            for model in (Population, Site, Nursery)
        )
    ).subquery()
    latitude, longitude = points.c
    south, north, west, east = session.execute(
        select(func.min(latitude), func.max(latitude), func.min(longitude), func.max(longitude))
    ).one()
    return None if south is None else (south, north, west, east)


def _turns_round(was: Point | None, latitude: float, longitude: float) -> bool:
    """Whether a record that lay at ``was`` gets the same numbers the other way round, or stays where it was."""
    if was is None or was[0] is None or was[1] is None:
        return False
    stays = abs(was[0] - latitude) <= NEAR and abs(was[1] - longitude) <= NEAR
    return stays or (abs(was[0] - longitude) <= NEAR and abs(was[1] - latitude) <= NEAR)


def _within(area: Area | None, latitude: float, longitude: float, margin: float) -> bool | None:
    if area is None:
        return None
    south, north, west, east = area
    return south - margin <= latitude <= north + margin and west - margin <= longitude <= east + margin
