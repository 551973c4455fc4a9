"""Filling in from the map what a person left empty."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from nursery.services.zones.atlas import zones_on_map
from nursery.services.zones.placing import FIELDS, place_rows


@dataclass(frozen=True, slots=True)
class _Typed:
    """A place on its way into the records."""

    id: int
    species_id: int | None
    latitude: float
    longitude: float
    elevation_m: float | None
    region_code: str
    basin: str


def fill_from_map(session: Session, values: Mapping[str, Any], was: Any = None) -> dict[str, Any]:
    """The values of a population or site, with region and basin from the map where they are empty.

    A code that was typed is kept. Where the map knows several codes, or the elevation that would decide is
    missing, nothing is filled in. ``was`` is the record until now: as long as it stays where it lay, what was left
    empty was left so knowingly.
    """
    merged = {field: values.get(field, getattr(was, field, None)) for field in _Typed.__slots__ if field != "id"}
    moved = was is None or (merged["latitude"], merged["longitude"]) != (was.latitude, was.longitude)
    empty = [kind for kind, field in FIELDS.items() if not merged[field]]
    if not moved or not empty or merged["latitude"] is None or merged["longitude"] is None:
        return dict(values)
    return {**values, **codes_from_map(session, [merged])[0]}


def codes_from_map(session: Session, places: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    """Region and basin of places by the map, where they are empty and the map knows one code for sure.

    Places have the fields of a population or a site, with coordinates; ``species_id`` is None for a site.
    """
    spots = [
        _Typed(
            number, place.get("species_id"), place["latitude"], place["longitude"], place.get("elevation_m"),
            place.get("region_code") or "", place.get("basin") or "",
        )
        for number, place in enumerate(places)
    ]  # fmt: skip
    found = place_rows(zones_on_map(session), spots)
    return [
        {
            FIELDS[kind]: placement.codes[0]
            for kind, placement in found[spot.id].items()
            if not getattr(spot, FIELDS[kind])
            and len(placement.codes) == 1
            and not any(zone.undecided for zone in placement.zones)
        }
        for spot in spots
    ]
