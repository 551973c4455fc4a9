"""Lines of allocation on the sheet, from mark to mark."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from nursery.i18n import ngettext
from nursery.planning.cartography.projection import Sheet
from nursery.services.map.flows import Flow
from nursery.services.map.marking import DrawnMark, counted
from nursery.services.map.marks import Mark, MarkKind

#: Lines beyond these are the thinnest, and make a picture of nothing.
MOST_LINES = 300
_WIDEST, _THINNEST = 9.0, 1.2


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
    #: Position, among the flows asked for, of the one that brings most.
    flow: int


def drawn_lines(
    sheet: Sheet, marks: Sequence[Mark], drawn: Sequence[DrawnMark], flows: Sequence[Flow]
) -> tuple[list[DrawnLine], int]:
    """Flows between the same two marks as one line, the widest drawn first so that the thin ones stay in sight."""
    place = _places(sheet, marks, drawn)
    plants: dict[tuple[tuple[float, float, str], tuple[float, float, str]], float] = defaultdict(float)
    most: dict[tuple[tuple[float, float, str], tuple[float, float, str]], int] = {}
    for at, flow in enumerate(flows):
        start = place.get((MarkKind.POPULATION, flow.population_id))
        end = place.get((MarkKind.SITE, flow.site_id))
        if start and end:
            plants[start, end] += flow.plants
            if flow.plants > flows[most.setdefault((start, end), at)].plants:
                most[start, end] = at
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
            most[start, end],
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
        name = mark.members[0].code if mark.count == 1 else counted(mark.kind, mark.count)
        found |= {(one.kind, one.id): (mark.x, mark.y, name) for one in mark.members}
    return found
