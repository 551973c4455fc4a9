"""Where the outlines of an area cross themselves or each other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
#: Pairs of edges that are compared in one go, to bound the memory.
_AT_ONCE = 1_000_000


@dataclass(frozen=True, slots=True)
class Crossing:
    """Two edges that meet where they should not; edge ``n`` of a ring leads from its point ``n`` to the next."""

    ring: int
    edge: int
    other_ring: int
    other_edge: int
    #: Longitude and latitude.
    at: tuple[float, float]


def first_crossing(rings: Sequence[Points]) -> Crossing | None:
    """The first place where edges of closed rings cross, or lie on each other.

    Within a ring, edges that follow one another may share their common end only, and others nothing. Two rings
    may touch, as a hole may touch the outer ring in a point; they may not cross.

    Parameters
    ----------
    rings
        Each of shape (vertices, 2), closed, with no point twice in a row.

    Returns
    -------
    Crossing or None
        That of the lowest ring and edge.

    Notes
    -----
    Edges are compared only where their extents along one axis overlap, so that outlines of tens of thousands of
    points take a moment.
    """
    edges = _Edges(rings)
    found = [_turning_back(edges)]
    for first, second in _candidates(edges):
        if not len(first):
            continue
        own = edges.ring[first] == edges.ring[second]
        following = own & (edges.next[first] == second) | own & (edges.next[second] == first)
        proper, touching = _meeting(edges, first, second)
        wrong = (proper | (touching & own)) & ~following
        found += [(int(first[at]), int(second[at])) for at in np.flatnonzero(wrong)[:50]]
    pairs = [(min(pair), max(pair)) for pair in found if pair is not None]
    return _told(edges, *min(pairs)) if pairs else None


def crosses_itself(ring: Points) -> bool:
    """Whether two edges of a closed ring, shape (vertices, 2), cross or lie on each other."""
    return first_crossing([ring]) is not None


class _Edges:
    """The edges of all rings in one row."""

    def __init__(self, rings: Sequence[Points]) -> None:
        sizes = [len(ring) - 1 for ring in rings]
        self.start = np.concatenate([ring[:-1] for ring in rings])
        self.end = np.concatenate([ring[1:] for ring in rings])
        self.ring = np.repeat(np.arange(len(rings)), sizes)
        self.first = np.concatenate([[0], np.cumsum(sizes)])
        self.next = np.arange(1, len(self.start) + 1)
        self.next[self.first[1:] - 1] = self.first[:-1]


def _turning_back(edges: _Edges) -> tuple[int, int] | None:
    """The first edge after which the way goes back over itself."""
    a, b, c = edges.start, edges.end, edges.end[edges.next]
    back = (_side(a, b, c) == 0) & (np.einsum("ij,ij->i", a - b, c - b) > 0)
    return (int(at := np.flatnonzero(back)[0]), int(edges.next[at])) if back.any() else None


def _candidates(edges: _Edges) -> Iterator[tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """Pairs of edges whose extents overlap on both axes, in portions."""
    low, high = np.minimum(edges.start, edges.end), np.maximum(edges.start, edges.end)
    ways = [_reach(low[:, axis], high[:, axis]) for axis in (0, 1)]
    axis = int(ways[1][1].sum() < ways[0][1].sum())
    order, counts = ways[axis]
    across = 1 - axis
    reached = np.cumsum(counts)
    start = 0
    while start < len(order):
        before = reached[start - 1] if start else 0
        stop = max(start + 1, int(np.searchsorted(reached, before + _AT_ONCE, side="right")))
        some = np.arange(start, stop)
        first = np.repeat(some, counts[some])
        offset = np.arange(len(first)) - np.repeat(np.cumsum(counts[some]) - counts[some], counts[some])
        one, other = order[first], order[first + 1 + offset]
        overlap = (low[one, across] <= high[other, across]) & (low[other, across] <= high[one, across])
        yield one[overlap], other[overlap]
        start = stop


def _reach(low: Points, high: Points) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Edges by their lower end, and how many of those that follow begin before each one ends."""
    order = np.argsort(low, kind="stable")
    return order, np.searchsorted(low[order], high[order], side="right") - np.arange(len(order)) - 1


def _meeting(edges: _Edges, first: NDArray[np.intp], second: NDArray[np.intp]) -> tuple[Any, Any]:
    """Whether pairs of edges cross properly, and whether they touch."""
    a, b, c, d = edges.start[first], edges.end[first], edges.start[second], edges.end[second]
    side_c, side_d, side_a, side_b = _side(a, b, c), _side(a, b, d), _side(c, d, a), _side(c, d, b)
    proper = (side_c * side_d < 0) & (side_a * side_b < 0)
    touching = (
        ((side_c == 0) & _between(a, b, c)) | ((side_d == 0) & _between(a, b, d))
        | ((side_a == 0) & _between(c, d, a)) | ((side_b == 0) & _between(c, d, b))
    )  # fmt: skip
    return proper, touching


def _told(edges: _Edges, one: int, other: int) -> Crossing:
    a, b, c, d = edges.start[one], edges.end[one], edges.start[other], edges.end[other]
    (rx, ry), (sx, sy) = b - a, d - c
    across = rx * sy - ry * sx
    along = ((c[0] - a[0]) * sy - (c[1] - a[1]) * sx) / across if across else 0.0
    x, y = a + (b - a) * along if across else b
    ring, other_ring = int(edges.ring[one]), int(edges.ring[other])
    return Crossing(
        ring, one - int(edges.first[ring]), other_ring, other - int(edges.first[other_ring]), (float(x), float(y))
    )


def _side(a: Points, b: Points, c: Points) -> Any:
    turn = (b[..., 0] - a[..., 0]) * (c[..., 1] - a[..., 1]) - (b[..., 1] - a[..., 1]) * (c[..., 0] - a[..., 0])
    return np.sign(turn)


def _between(a: Points, b: Points, c: Points) -> Any:
    return np.all((np.minimum(a, b) <= c) & (c <= np.maximum(a, b)), axis=-1)
