"""From places, zones and lines of allocation to shapes on a sheet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from nursery.i18n import gettext as _
from nursery.i18n import ngettext
from nursery.planning.cartography.clustering import clusters
from nursery.planning.cartography.labelling import Box, Label, box_around, labels
from nursery.planning.cartography.projection import Sheet, fit, graticule, scale_bar
from nursery.planning.cartography.spreading import spread
from nursery.services.map.flows import Flow
from nursery.services.map.marks import Mark, MarkKind
from nursery.services.map.query import MOST_ZOOM, MapQuery
from nursery.services.map.zoning import DrawnZone, draw_zones
from nursery.services.zones.atlas import MapZone

#: Sheets in units, which are pixels about: for a desk and for a phone.
WIDE, NARROW = (960.0, 640.0), (400.0, 440.0)
#: Marks nearer than this become one: the least distance at which two can be told apart by a finger.
APART = 30.0
#: Marks of different kinds at one place stand so far apart, and none farther than this from its true place.
BESIDE, FARTHEST = 24.0, 14.0
#: Half of a mark, and of one that stands for several.
SINGLE, SEVERAL = 8.0, 12.0
#: Height of a line of text.
LINE = 13.0
#: Lines beyond these are the thinnest, and make a picture of nothing.
MOST_LINES = 300
_WIDEST, _THINNEST = 9.0, 1.2
#: Names told on a mark that stands for several.
_TOLD = 6


@dataclass(frozen=True, slots=True)
class DrawnMark:
    """A mark on the sheet, for one place or several of a kind."""

    kind: MarkKind
    x: float
    y: float
    members: Sequence[Mark]
    latitude: float
    longitude: float
    text: str = ""
    label: Label | None = None

    @property
    def count(self) -> int:
        """How many places it stands for."""
        return len(self.members)

    @property
    def title(self) -> str:
        """What it is, in words."""
        if self.count == 1:
            one = self.members[0]
            facts = [one.code, one.name, one.species]
            return f"{KIND_WORDS[self.kind]()}: {' · '.join(fact for fact in facts if fact)}"
        names = ", ".join(one.label for one in self.members[:_TOLD])
        more = f"{names} …" if self.count > _TOLD else names
        return _("%(count)s: %(names)s. Zoom in.", count=_counted(self.kind, self.count), names=more)


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """Plants on their way from one mark to another."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float
    plants: float
    title: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """Everything on the sheet, from the ground up."""

    sheet: Sheet
    #: At which everything fits; the zoom is told in doublings of its scale.
    whole: Sheet
    zoom: float
    zones: Sequence[DrawnZone]
    lines: Sequence[DrawnLine]
    #: Pairs of places with allocations, beyond those drawn.
    lines_left_out: int
    marks: Sequence[DrawnMark]
    meridians: Sequence[tuple[float, float]]
    parallels: Sequence[tuple[float, float]]
    bar_metres: float
    bar_units: float
    #: Places within the sheet, single and in their order.
    inside: Sequence[Mark] = field(default_factory=list)

    @property
    def digits(self) -> int:
        """Decimals with which the graticule's degrees are told apart."""
        values = [degrees for degrees, _place in (*self.meridians, *self.parallels)]
        return next((count for count in range(7) if all(abs(v - round(v, count)) < 1e-9 for v in values)), 7)


def _counted(kind: MarkKind, count: int) -> str:
    if kind is MarkKind.POPULATION:
        return ngettext("%(num)s population", "%(num)s populations", count)
    if kind is MarkKind.SITE:
        return ngettext("%(num)s planting site", "%(num)s planting sites", count)
    return ngettext("%(num)s nursery", "%(num)s nurseries", count)


KIND_WORDS = {
    MarkKind.POPULATION: lambda: _("Population"),
    MarkKind.SITE: lambda: _("Planting site"),
    MarkKind.NURSERY: lambda: _("Nursery"),
}


def draw_map(
    extent: Sequence[Mark],
    marks: Sequence[Mark],
    flows: Sequence[Flow],
    zones: Sequence[MapZone],
    query: MapQuery,
    size: tuple[float, float] = WIDE,
) -> Drawing | None:
    """The map; ``extent`` are the places that the whole map shows. None without these and without zones."""
    whole = _whole(extent, zones, size)
    if whole is None:
        return None
    zoom = min(max(query.zoom, 0.0), MOST_ZOOM)
    sheet = whole.zoomed(2.0**zoom, query.latitude, query.longitude)
    inside = _inside(sheet, marks)
    drawn = _apart(
        [mark for kind in MarkKind for mark in _drawn(sheet, [one for one in inside if one.kind is kind])]
    )
    lines, left_out = _lines(sheet, marks, drawn, flows)
    metres, units = scale_bar(sheet, size[0] / 4)
    furniture = _furniture(size, units)
    labelled = _labelled(drawn, size, furniture)
    taken = furniture + [box_around(mark.x, mark.y, SEVERAL) for mark in labelled]
    taken += [mark.label.box for mark in labelled if mark.label]
    meridians, parallels, _step = graticule(sheet)
    x, _y = sheet.place(meridians, sheet.latitude)
    _x, y = sheet.place(sheet.longitude, parallels)
    return Drawing(
        sheet=sheet,
        whole=whole,
        zoom=zoom,
        zones=draw_zones(sheet, zones, taken, LINE),
        lines=lines,
        lines_left_out=left_out,
        marks=labelled,
        meridians=list(zip(meridians.tolist(), np.atleast_1d(x).tolist(), strict=True)),
        parallels=list(zip(parallels.tolist(), np.atleast_1d(y).tolist(), strict=True)),
        bar_metres=metres,
        bar_units=units,
        inside=inside,
    )


def _whole(extent: Sequence[Mark], zones: Sequence[MapZone], size: tuple[float, float]) -> Sheet | None:
    if extent:
        return fit([one.longitude for one in extent], [one.latitude for one in extent], *size)
    if zones:
        bounds = np.array([zone.area.bounds for zone in zones])
        return fit(bounds[:, [0, 2]].ravel(), bounds[:, [1, 3]].ravel(), *size)
    return None


def _inside(sheet: Sheet, marks: Sequence[Mark]) -> list[Mark]:
    west, south, east, north = sheet.bounds
    return [one for one in marks if west <= one.longitude <= east and south <= one.latitude <= north]


def _drawn(sheet: Sheet, marks: Sequence[Mark]) -> list[DrawnMark]:
    """Marks of one kind, those that would lie on each other as one."""
    if not marks:
        return []
    longitude, latitude = (np.array([getattr(one, axis) for one in marks]) for axis in ("longitude", "latitude"))
    x, y = sheet.place(longitude, latitude)
    cluster = clusters(x, y, APART)
    counts = np.bincount(cluster)
    means = [(np.bincount(cluster, values) / counts).tolist() for values in (x, y, latitude, longitude)]
    members: dict[int, list[Mark]] = defaultdict(list)
    for mark, at in zip(marks, cluster.tolist(), strict=True):
        members[at].append(mark)
    return [
        DrawnMark(marks[0].kind, left, top, members[at], north, east)
        for at, (left, top, north, east) in enumerate(zip(*means, strict=True))
    ]


def _apart(drawn: Sequence[DrawnMark]) -> list[DrawnMark]:
    """Marks of different kinds set apart a little where one would hide the other."""
    if not drawn:
        return []
    x, y = spread([mark.x for mark in drawn], [mark.y for mark in drawn], BESIDE, FARTHEST)
    return [replace(mark, x=left, y=top) for mark, left, top in zip(drawn, x.tolist(), y.tolist(), strict=True)]


def _furniture(size: tuple[float, float], bar: float) -> list[Box]:
    """What lies above the map, and hides labels: the scale bar and the arrow (as in map/_sheet.html)."""
    width, height = size
    return [(width - bar - 24, height - 52, width - 8, height - 20), (width - 42, 8, width - 8, 64)]


def _labelled(drawn: Sequence[DrawnMark], size: tuple[float, float], furniture: Sequence[Box]) -> list[DrawnMark]:
    """Labels of single places where there is room, sites and nurseries first."""
    order = sorted(drawn, key=lambda mark: (mark.kind is MarkKind.POPULATION, -mark.count, mark.y, mark.x))
    texts = [mark.members[0].label if mark.count == 1 else "" for mark in order]
    x, y = [mark.x for mark in order], [mark.y for mark in order]
    taken = [*furniture]
    taken += [box_around(mark.x, mark.y, SEVERAL if mark.count > 1 else SINGLE) for mark in order]
    placed = labels(x, y, texts, LINE, SEVERAL, taken, size)
    return [replace(mark, text=text, label=label) for mark, text, label in zip(order, texts, placed, strict=True)]


def _lines(
    sheet: Sheet, marks: Sequence[Mark], drawn: Sequence[DrawnMark], flows: Sequence[Flow]
) -> tuple[list[DrawnLine], int]:
    """Flows between the same two marks as one line, the widest drawn first so that the thin ones stay in sight."""
    place = _places(sheet, marks, drawn)
    plants: dict[tuple[tuple[float, float, str], tuple[float, float, str]], float] = defaultdict(float)
    for flow in flows:
        start = place.get((MarkKind.POPULATION, flow.population_id))
        end = place.get((MarkKind.SITE, flow.site_id))
        if start and end:
            plants[start, end] += flow.plants
    largest = max(plants.values(), default=0.0)
    order = sorted(plants.items(), key=lambda item: (-item[1], item[0]))
    lines = [
        DrawnLine(
            round(start[0], 1),
            round(start[1], 1),
            round(end[0], 1),
            round(end[1], 1),
            round(_THINNEST + (_WIDEST - _THINNEST) * float(np.sqrt(total / largest)), 1),
            total,
            ngettext(
                "%(start)s to %(end)s: %(num)s plant",
                "%(start)s to %(end)s: %(num)s plants",
                round(total),
                start=start[2],
                end=end[2],
            ),
        )
        for (start, end), total in order[:MOST_LINES]
        if total > 0
    ]
    return lines, max(len(order) - MOST_LINES, 0)


def _places(
    sheet: Sheet, marks: Sequence[Mark], drawn: Sequence[DrawnMark]
) -> Mapping[tuple[MarkKind, int], tuple[float, float, str]]:
    """Where each place's lines begin or end: at the mark that stands for it, or beyond the edge of the sheet."""
    if not marks:
        return {}
    x, y = sheet.place([one.longitude for one in marks], [one.latitude for one in marks])
    found = {
        (one.kind, one.id): (left, top, one.code or one.name)
        for one, left, top in zip(marks, x.tolist(), y.tolist(), strict=True)
    }
    for mark in drawn:
        name = mark.members[0].code if mark.count == 1 else _counted(mark.kind, mark.count)
        found |= {(one.kind, one.id): (mark.x, mark.y, name) for one in mark.members}
    return found
