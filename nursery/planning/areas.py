"""Points in areas on the map: GeoJSON polygons with holes, in one vectorised even-odd test."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

#: A point nearer to an edge than this, in degrees, lies on it: a tenth of a millimetre on the ground.
ON_EDGE_DEG = 1e-9
#: Pairs of point and edge that are reckoned in one go, to bound the memory.
_AT_ONCE = 1_000_000

Points = NDArray[np.float64]


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
    x = np.atleast_1d(np.asarray(longitude, np.float64))
    y = np.atleast_1d(np.asarray(latitude, np.float64))
    found = np.zeros(x.shape, np.bool_)
    for rings in polygons(geometry):
        found |= _in_polygon(rings, x, y)
    return found


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


def crosses_itself(ring: Points) -> bool:
    """Whether two edges of a closed ring, shape (vertices, 2), cross or lie on each other.

    Edges that follow one another may share their common end only.
    """
    start, end = ring[:-1], ring[1:]
    count = len(start)
    for edge in range(count - 1):
        others = np.arange(edge + 1, count)
        touching = _crossing(start[edge], end[edge], start[others], end[others])
        next_ones = (others == edge + 1) | ((edge == 0) & (others == count - 1))
        if np.any(touching & ~next_ones):
            return True
        if _turns_back(start[edge], end[edge], end[edge + 1]):
            return True
    return _turns_back(start[-1], end[-1], end[0])


def _in_polygon(rings: Sequence[Points], x: NDArray[np.float64], y: NDArray[np.float64]) -> Any:
    edges = np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
    inside = np.zeros(x.shape, np.bool_)
    step = max(1, _AT_ONCE // len(edges))
    for first in range(0, len(x), step):
        some = slice(first, first + step)
        inside[some] = _meets(edges, x[some, None], y[some, None])
    return inside


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
    return (passed.sum(axis=1) % 2 == 1) | (distance <= ON_EDGE_DEG).any(axis=1)


def _crossing(
    a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64], d: NDArray[np.float64]
) -> Any:
    """Whether the edge a–b meets each edge c–d."""
    side_c, side_d, side_a, side_b = _side(a, b, c), _side(a, b, d), _side(c, d, a), _side(c, d, b)
    proper = (side_c * side_d < 0) & (side_a * side_b < 0)
    touching = (
        ((side_c == 0) & _between(a, b, c)) | ((side_d == 0) & _between(a, b, d))
        | ((side_a == 0) & _between(c, d, a)) | ((side_b == 0) & _between(c, d, b))
    )  # fmt: skip
    return proper | touching


def _side(a: Points, b: Points, c: Points) -> Any:
    turn = (b[..., 0] - a[..., 0]) * (c[..., 1] - a[..., 1]) - (b[..., 1] - a[..., 1]) * (c[..., 0] - a[..., 0])
    return np.sign(turn)


def _between(a: Points, b: Points, c: Points) -> Any:
    return np.all((np.minimum(a, b) <= c) & (c <= np.maximum(a, b)), axis=-1)


def _turns_back(a: Points, b: Points, c: Points) -> bool:
    """Whether the way a–b–c goes back over itself at b."""
    return bool(_side(a, b, c) == 0 and np.dot(a - b, c - b) > 0)
