"""Points in areas on the map: GeoJSON polygons with holes, in one vectorised even-odd test."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

#: A point nearer to an edge than this, in degrees, lies on it: a tenth of a millimetre on the ground.
ON_EDGE_DEG = 1e-9
#: Pairs of point and edge that are reckoned in one go, to bound the memory.
_AT_ONCE = 1_000_000
#: What `locate` answers.
OUTSIDE, INSIDE, ON_EDGE = 0, 1, 2

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Area:
    """Polygons made ready for asking, each a list of rings; west, south, east and north in degrees."""

    polygons: list[list[Points]]
    bounds: tuple[float, float, float, float]


def area_of(geometry: Mapping[str, Any]) -> Area:
    """A geometry made ready, for areas that are asked more than once.

    Raises
    ------
    ValueError
        When the geometry is neither ``Polygon`` nor ``MultiPolygon``.
    """
    parts = polygons(geometry)
    corners = np.concatenate([rings[0] for rings in parts])
    (west, south), (east, north) = corners.min(axis=0), corners.max(axis=0)
    return Area(parts, (float(west), float(south), float(east), float(north)))


def locate(area: Area, longitude: ArrayLike, latitude: ArrayLike) -> NDArray[np.int8]:
    """Where each point lies: ``OUTSIDE``, ``INSIDE``, or ``ON_EDGE`` of the area or one of its holes.

    Parameters
    ----------
    area
        As made by `area_of`.
    longitude, latitude
        Degrees, shape (n,) or a single number each.

    Returns
    -------
    ndarray of int8
        Shape (n,).
    """
    x = np.atleast_1d(np.asarray(longitude, np.float64))
    y = np.atleast_1d(np.asarray(latitude, np.float64))
    west, south, east, north = area.bounds
    near = np.flatnonzero(
        (x >= west - ON_EDGE_DEG) & (x <= east + ON_EDGE_DEG)
        & (y >= south - ON_EDGE_DEG) & (y <= north + ON_EDGE_DEG)
    )  # fmt: skip
    found = np.zeros(x.shape, np.int8)
    for rings in area.polygons:
        found[near] = np.maximum(found[near], _in_polygon(rings, x[near], y[near]))
    return found


def covers(geometry: Mapping[str, Any], longitude: ArrayLike, latitude: ArrayLike) -> NDArray[np.bool_]:
    """Whether each point lies in an area; its boundary, and that of its holes, belongs to it.

    Parameters
    ----------
    geometry
        GeoJSON ``Polygon`` or ``MultiPolygon``: WGS 84, degrees, longitude first. Edges are straight on the plane
        of longitude and latitude, as RFC 7946 section 3.1.1 has them; an area across the 180th meridian is cut
        there (section 3.1.9).
    longitude, latitude
        Degrees, shape (n,) or a single number each.

    Returns
    -------
    ndarray of bool
        Shape (n,).

    Raises
    ------
    ValueError
        When the geometry is neither of the two.
    """
    inside: NDArray[np.bool_] = locate(area_of(geometry), longitude, latitude) != OUTSIDE
    return inside


def polygons(geometry: Mapping[str, Any]) -> list[list[Points]]:
    """Polygons of a geometry, each a list of rings of shape (vertices, 2); the first ring is the outer one.

    Raises
    ------
    ValueError
        When the geometry is neither ``Polygon`` nor ``MultiPolygon``.
    """
    kind, coordinates = geometry.get("type"), geometry.get("coordinates")
    if kind not in {"Polygon", "MultiPolygon"} or not isinstance(coordinates, Sequence):
        raise ValueError(f"no polygon: {kind!r}")
    parts = [coordinates] if kind == "Polygon" else coordinates
    return [[np.array([position[:2] for position in ring], np.float64) for ring in part] for part in parts]


def ground_area(area: Area) -> float:
    """Square metres on the WGS 84 ellipsoid, holes left out.

    Notes
    -----
    Karney's algorithm for geodesic polygons as in PROJ; edges of ordinary outlines are so short that it does not
    matter whether they are geodesics or straight on the plane of longitude and latitude.
    """
    import pyproj  # noqa: PLC0415 -- slow import

    earth, total = pyproj.Geod(ellps="WGS84"), 0.0
    for rings in area.polygons:
        sizes = [abs(earth.polygon_area_perimeter(ring[:, 0], ring[:, 1])[0]) for ring in rings]
        total += sizes[0] - sum(sizes[1:])
    return total


def _in_polygon(rings: Sequence[Points], x: NDArray[np.float64], y: NDArray[np.float64]) -> Any:
    edges = np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
    found = np.zeros(x.shape, np.int8)
    step = max(1, _AT_ONCE // len(edges))
    for first in range(0, len(x), step):
        some = slice(first, first + step)
        found[some] = _meets(edges, x[some, None], y[some, None])
    return found


def _meets(edges: Points, x: NDArray[np.float64], y: NDArray[np.float64]) -> Any:
    """Points as a column against edges (x1, y1, x2, y2) as a row: inside by the even-odd rule, or on an edge."""
    x1, y1, x2, y2 = edges.T
    dx, dy = x2 - x1, y2 - y1
    # The ray goes east. Of an edge's ends the lower one counts, so that a ray through a vertex counts once.
    crossed = (y1 > y) != (y2 > y)
    slope = np.divide(dx, dy, out=np.zeros_like(dx), where=dy != 0)
    passed = crossed & (x < x1 + (y - y1) * slope)
    length = dx * dx + dy * dy
    along = ((x - x1) * dx + (y - y1) * dy) / np.where(length, length, 1.0)
    along = np.clip(along, 0.0, 1.0)
    distance = np.hypot(x - (x1 + along * dx), y - (y1 + along * dy))
    on_edge = (distance <= ON_EDGE_DEG).any(axis=1)
    return np.where(on_edge, ON_EDGE, passed.sum(axis=1) % 2)
