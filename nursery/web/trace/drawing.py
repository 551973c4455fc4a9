"""A chain of stands, lots, plantings and sites as a drawing: columns from left to right, bands by share."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from graphlib import TopologicalSorter

#: Measures of the drawing, in its own units (pixels where it is not scaled).
BOX_WIDTH, BOX_HEIGHT, COLUMN, ROW, MARGIN = 168, 44, 240, 58, 8
#: A band of all there is, and the thinnest one that is still seen.
WIDEST, THINNEST = 26.0, 1.0
#: Boxes in one column; the rest is in the table.
MOST = 24


@dataclass(frozen=True, slots=True)
class Node:
    """One box, with the column it stands in (0 is leftmost) and its place once laid out."""

    key: str
    kind: str
    column: int
    label: str
    detail: str
    title: str
    url: str
    weight: float
    x: int = 0
    y: int = 0


@dataclass(frozen=True, slots=True)
class Band:
    """What flows from one box into another, as a share (0–1) of all."""

    source: str
    target: str
    share: float
    title: str
    path: str = ""
    width: float = 0.0


@dataclass(frozen=True, slots=True)
class Drawing:
    """Boxes and bands at their places."""

    width: int
    height: int
    nodes: Sequence[Node]
    bands: Sequence[Band]
    #: Boxes that found no room.
    left_out: int


def columns_of(links: Sequence[tuple[int, int]], lots: Sequence[int]) -> dict[int, int]:
    """The longest way to each lot from one that was collected, in splits and mixes; 0 where it was collected."""
    above: dict[int, list[int]] = {lot: [] for lot in lots}
    for source, target in links:
        above[target].append(source)
    depth: dict[int, int] = {}
    for lot in TopologicalSorter(above).static_order():
        depth[lot] = max((depth[one] + 1 for one in above[lot]), default=0)
    return depth


def heaviest(weights: Mapping[int, float], depth: Mapping[int, int]) -> set[int]:
    """Lots that find room: the heaviest of each column. Only these are worth a box."""
    room: Counter[int] = Counter()
    found: set[int] = set()
    for lot in sorted(weights, key=lambda one: -weights[one]):
        if room[depth[lot]] < MOST:
            room[depth[lot]] += 1
            found.add(lot)
    return found


def lay_out(nodes: Sequence[Node], bands: Sequence[Band], left_out: int = 0) -> Drawing:
    """Give boxes their places: the heaviest of each column, each near those that it comes from.

    ``left_out`` boxes were left out before.
    """
    by_column: defaultdict[int, list[Node]] = defaultdict(list)
    for node in nodes:
        by_column[node.column].append(node)
    before: defaultdict[str, list[str]] = defaultdict(list)
    for band in bands:
        before[band.target].append(band.source)
    placed: dict[str, Node] = {}
    tallest = max((min(len(some), MOST) for some in by_column.values()), default=0)
    for at, column in enumerate(sorted(by_column)):
        some = sorted(by_column[column], key=lambda one: -one.weight)[:MOST]
        some.sort(key=lambda one: _middle(placed, before[one.key]))
        top = MARGIN + (tallest - len(some)) * ROW // 2
        for row, node in enumerate(some):
            placed[node.key] = replace(node, x=MARGIN + at * COLUMN, y=top + row * ROW)
    width = MARGIN * 2 + max(len(by_column) - 1, 0) * COLUMN + BOX_WIDTH
    return Drawing(
        width,
        MARGIN * 2 + max(tallest * ROW - (ROW - BOX_HEIGHT), 0),
        list(placed.values()),
        [_drawn(band, placed) for band in bands if band.source in placed and band.target in placed],
        left_out + len(nodes) - len(placed),
    )


def _middle(placed: Mapping[str, Node], sources: Sequence[str]) -> float:
    heights = [placed[one].y for one in sources if one in placed]
    return sum(heights) / len(heights) if heights else 0.0


def _drawn(band: Band, placed: Mapping[str, Node]) -> Band:
    source, target = placed[band.source], placed[band.target]
    x1, y1 = source.x + BOX_WIDTH, source.y + BOX_HEIGHT / 2
    x2, y2 = target.x, target.y + BOX_HEIGHT / 2
    bend = (x2 - x1) / 2
    path = f"M{x1} {y1:.1f}C{x1 + bend:.0f} {y1:.1f} {x2 - bend:.0f} {y2:.1f} {x2} {y2:.1f}"
    return replace(band, path=path, width=round(max(WIDEST * min(band.share, 1.0), THINNEST), 2))
