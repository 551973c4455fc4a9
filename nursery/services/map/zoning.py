"""Zones as quiet areas of the map, with their codes where there is room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nursery.models.zones import ZoneKind
from nursery.planning.areas import OUTSIDE, locate
from nursery.planning.cartography.labelling import Box, is_free, text_box
from nursery.planning.cartography.projection import Sheet
from nursery.services.map.sketching import path_of
from nursery.services.zones.atlas import MapZone

#: Points tried for a label, along each axis.
_TRIED = 9


@dataclass(frozen=True, slots=True)
class DrawnZone:
    """An area on the sheet, and where its code stands; None where it has no room."""

    id: int
    kind: ZoneKind
    code: str
    name: str
    path: str
    label: tuple[float, float] | None
    #: One of a few tints, so that neighbours differ.
    tint: int


def shown_zones(zones: Sequence[MapZone], species: str = "") -> list[MapZone]:
    """Basins, and the regions that count: those of the species, by its name, where it has own ones."""
    own = [zone for zone in zones if species and zone.species_name == species]
    regions = own or [zone for zone in zones if zone.kind is ZoneKind.REGION and zone.species_id is None]
    return [*regions, *(zone for zone in zones if zone.kind is ZoneKind.BASIN)]


def draw_zones(sheet: Sheet, zones: Sequence[MapZone], taken: Sequence[Box], line: float) -> list[DrawnZone]:
    """The areas that reach into the sheet, regions first."""
    west, south, east, north = sheet.bounds
    boxes = list(taken)
    drawn = []
    for tint, zone in enumerate(zones):
        left, bottom, right, top = zone.area.bounds
        if left > east or right < west or bottom > north or top < south:
            continue
        label = _label(sheet, zone, boxes, line)
        if label is not None:
            boxes.append(text_box(*label, zone.code, line, "middle"))
        drawn.append(
            DrawnZone(zone.id, zone.kind, zone.code, zone.name, path_of(zone.area, sheet), label, tint % 4)
        )
    return drawn


def _label(sheet: Sheet, zone: MapZone, boxes: Sequence[Box], line: float) -> tuple[float, float] | None:
    """A free place for the code, as near as can be to the middle of what is seen of the area."""
    west, south, east, north = sheet.bounds
    left, bottom, right, top = zone.area.bounds
    longitude, latitude = np.meshgrid(
        np.linspace(max(west, left), min(east, right), _TRIED + 2)[1:-1],
        np.linspace(max(south, bottom), min(north, top), _TRIED + 2)[1:-1],
    )
    inside = locate(zone.area, longitude.ravel(), latitude.ravel()) != OUTSIDE
    x, y = (values[inside] for values in sheet.place(longitude.ravel(), latitude.ravel()))
    if not x.size:
        return None
    blocked = np.array(boxes, np.float64).reshape(-1, 4)
    for at in np.hypot(x - x.mean(), y - y.mean()).argsort().tolist():
        box = text_box(float(x[at]), float(y[at]), zone.code, line, "middle")
        if is_free(box, blocked, (sheet.width, sheet.height)):
            return round(float(x[at]), 1), round(float(y[at]), 1)
    return None
