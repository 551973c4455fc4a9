"""Filling in from the map what a person left empty."""

from __future__ import annotations

from collections.abc import Mapping
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
    spot = _Typed(id=0, **{**merged, "region_code": merged["region_code"] or "", "basin": merged["basin"] or ""})
    placements = place_rows(zones_on_map(session), [spot])[0]
    known = {
        FIELDS[kind]: placements[kind].codes[0]
        for kind in empty
        if len(placements[kind].codes) == 1 and not any(zone.undecided for zone in placements[kind].zones)
    }
    return {**values, **known}
