"""Places as marks on the sheet: those on each other as one, others set apart, labels where they fit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from nursery.i18n import gettext as _
from nursery.i18n import ngettext
from nursery.planning.cartography.clustering import clusters
from nursery.planning.cartography.labelling import Box, Label, box_around, labels
from nursery.planning.cartography.projection import Sheet
from nursery.planning.cartography.spreading import spread
from nursery.services.map.marks import Mark, MarkKind

#: Marks nearer than this become one: the least distance at which two can be told apart by a finger.
APART = 30.0
#: Marks of different kinds at one place stand so far apart, and none farther than this from its true place.
BESIDE, FARTHEST = 24.0, 14.0
#: Half of a mark, and of one that stands for several.
SINGLE, SEVERAL = 8.0, 12.0
#: Height of a line of text.
LINE = 13.0
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
        return _("%(count)s: %(names)s. Zoom in.", count=counted(self.kind, self.count), names=more)


def counted(kind: MarkKind, count: int) -> str:
    """So many of a kind, in words."""
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


def drawn_marks(sheet: Sheet, marks: Sequence[Mark]) -> list[DrawnMark]:
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


def set_apart(drawn: Sequence[DrawnMark]) -> list[DrawnMark]:
    """Marks of different kinds set apart a little where one would hide the other."""
    if not drawn:
        return []
    x, y = spread([mark.x for mark in drawn], [mark.y for mark in drawn], BESIDE, FARTHEST)
    return [replace(mark, x=left, y=top) for mark, left, top in zip(drawn, x.tolist(), y.tolist(), strict=True)]


def furniture_of(size: tuple[float, float], bar: float) -> list[Box]:
    """What lies above the map, and hides labels: the scale bar and the arrow (as in map/_sheet.html)."""
    width, height = size
    return [(width - bar - 24, height - 52, width - 8, height - 20), (width - 42, 8, width - 8, 64)]


def with_labels(
    drawn: Sequence[DrawnMark], size: tuple[float, float], furniture: Sequence[Box]
) -> list[DrawnMark]:
    """Labels of single places where there is room, sites and nurseries first."""
    order = sorted(drawn, key=lambda mark: (mark.kind is MarkKind.POPULATION, -mark.count, mark.y, mark.x))
    texts = [mark.members[0].label if mark.count == 1 else "" for mark in order]
    x, y = [mark.x for mark in order], [mark.y for mark in order]
    taken = [*furniture]
    taken += [box_around(mark.x, mark.y, SEVERAL if mark.count > 1 else SINGLE) for mark in order]
    placed = labels(x, y, texts, LINE, SEVERAL, taken, size)
    return [replace(mark, text=text, label=label) for mark, text, label in zip(order, texts, placed, strict=True)]
