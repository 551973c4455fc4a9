"""Outlines of areas as paths of SVG."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nursery.models.zones import Zone
from nursery.planning.areas import Area, area_of, ground_area
from nursery.planning.cartography.projection import Sheet, fit

#: Points nearer to each other than this on the sheet are one.
_FINE = 0.7
_SIDE = 320


@dataclass(frozen=True, slots=True)
class Sketch:
    """An outline alone on its sheet."""

    path: str
    width: int
    height: int
    area_km2: float
    points: int
    parts: int
    holes: int


def outline_of(zone: Zone) -> Sketch:
    """A zone's outline, filling a small sheet."""
    area = area_of(zone.geometry)
    west, south, east, north = area.bounds
    sheet = fit([west, east], [south, north], _SIDE, _SIDE)
    rings = [ring for polygon in area.polygons for ring in polygon]
    return Sketch(
        path=path_of(area, sheet),
        width=_SIDE,
        height=_SIDE,
        area_km2=ground_area(area) / 1e6,
        points=sum(len(ring) for ring in rings),
        parts=len(area.polygons),
        holes=len(rings) - len(area.polygons),
    )


def path_of(area: Area, sheet: Sheet) -> str:
    """The area as path data; points that cannot be told apart on the sheet are left out."""
    return "".join(_ring(ring, sheet) for polygon in area.polygons for ring in polygon)


def _ring(ring: NDArray[np.float64], sheet: Sheet) -> str:
    x, y = sheet.place(ring[:-1, 0], ring[:-1, 1])
    steps = np.floor(np.column_stack([x, y]) / _FINE)
    kept = np.concatenate([[True], np.any(steps[1:] != steps[:-1], axis=1)])
    if kept.sum() < 3:
        return ""
    points = np.round(np.column_stack([x[kept], y[kept]]), 1).tolist()
    return "M" + "L".join(f"{left:g} {top:g}" for left, top in points) + "Z"
