"""From places, zones and lines of allocation to shapes on a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from nursery.planning.cartography.labelling import box_around
from nursery.planning.cartography.projection import Sheet, fit, graticule, scale_bar
from nursery.services.map.flows import Flow
from nursery.services.map.lining import DrawnLine, drawn_lines
from nursery.services.map.marking import (
    LINE,
    SEVERAL,
    DrawnMark,
    drawn_marks,
    furniture_of,
    set_apart,
    with_labels,
)
from nursery.services.map.marks import Mark, MarkKind
from nursery.services.map.query import MOST_ZOOM, MapQuery
from nursery.services.map.zoning import DrawnZone, draw_zones
from nursery.services.zones.atlas import MapZone

#: Sheets in units, which are pixels about: for a desk and for a phone.
WIDE, NARROW = (960.0, 640.0), (400.0, 440.0)


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
    drawn = set_apart(
        [mark for kind in MarkKind for mark in drawn_marks(sheet, [one for one in inside if one.kind is kind])]
    )
    lines, left_out = drawn_lines(sheet, marks, drawn, flows)
    metres, units = scale_bar(sheet, size[0] / 4)
    furniture = furniture_of(size, units)
    labelled = with_labels(drawn, size, furniture)
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
