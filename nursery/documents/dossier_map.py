"""A map in print: areas, places and what flows between them, on paper's own ground; no tiles are asked for."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from nursery.documents import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MarkKind = Literal["population", "site", "nursery"]
AreaKind = Literal["region", "basin"]

_DOTS = 200
_GROUNDS = ("#eef1e3", "#f3ecd9", "#e6eee8", "#f5efe4")
_WATER, _LEAF, _EARTH = "#245268", "#1d5547", "#7d5100"
#: Marker, its size in points, and its colour; kinds differ by their shapes.
_MARKS: dict[str, tuple[str, float, str]] = {
    "population": ("o", 7.5, _LEAF),
    "site": ("s", 8.5, style.BRICK),
    "nursery": ("^", 9.0, _EARTH),
}


@dataclass(frozen=True, slots=True)
class MapArea:
    """A region or basin: its outline as path data in units of the sheet, and where its code stands."""

    kind: AreaKind
    path: str
    code: str
    label: tuple[float, float] | None
    tint: int


@dataclass(frozen=True, slots=True)
class MapMark:
    """A place, or several near each other; ``label`` is its anchor, and which point of the text that means."""

    kind: MarkKind
    x: float
    y: float
    count: int
    text: str
    label: tuple[float, float, str] | None


@dataclass(frozen=True, slots=True)
class MapLine:
    """Plants on their way; ``width`` in units of the sheet."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float


@dataclass(frozen=True)
class MapPicture:
    """Everything on the sheet, in its units from the upper left corner, with its words."""

    width: float
    height: float
    areas: Sequence[MapArea]
    lines: Sequence[MapLine]
    marks: Sequence[MapMark]
    #: Degrees in words, and where they stand.
    meridians: Sequence[tuple[str, float]]
    parallels: Sequence[tuple[str, float]]
    bar: str
    bar_units: float
    north: str
    #: What each kind of thing is called.
    names: dict[str, str]


def map_png(picture: MapPicture, *, inches: float = 6.85) -> bytes:
    """The map as a PNG at 200 dots an inch, ``inches`` wide."""
    from matplotlib.figure import Figure  # noqa: PLC0415 -- slow import

    with style.DRAWING:
        style.set_style()
        legend = 0.34
        tall = inches * picture.height / picture.width
        figure = Figure(figsize=(inches, tall + legend), dpi=_DOTS, facecolor="white")
        axes = figure.add_axes((0.0, legend / (tall + legend), 1.0, tall / (tall + legend)))
        axes.set_xlim(0, picture.width)
        axes.set_ylim(picture.height, 0)
        axes.set_xticks([])
        axes.set_yticks([])
        _draw_areas(axes, picture)
        _draw_degrees(axes, picture)
        scale = inches * 72 / picture.width
        for line in picture.lines:
            axes.plot(
                [line.x1, line.x2], [line.y1, line.y2], color=_LEAF, alpha=0.4, zorder=4,
                linewidth=max(line.width * scale, 0.6), solid_capstyle="round",
            )  # fmt: skip
        _draw_marks(axes, picture)
        _draw_furniture(axes, picture)
        _draw_legend(figure, picture)
        written = io.BytesIO()
        figure.savefig(written, format="png", dpi=_DOTS, metadata={"Software": None})
        return written.getvalue()


def _draw_areas(axes: Axes, picture: MapPicture) -> None:
    from matplotlib.patches import PathPatch  # noqa: PLC0415 -- slow import

    for area in picture.areas:
        path = _path(area.path)
        if path is None:
            continue
        basin = area.kind == "basin"
        axes.add_patch(
            PathPatch(
                path, facecolor="none" if basin else _GROUNDS[area.tint], zorder=2 if basin else 1, linewidth=0.9,
                edgecolor=_WATER if basin else "#a59a7c", linestyle=(0, (4, 2)) if basin else "solid",
            )
        )  # fmt: skip
        if area.label:
            axes.text(
                *area.label, area.code, ha="center", fontsize=7, color=_WATER if basin else style.SOFT,
                style="italic" if basin else "normal", zorder=3,
            )  # fmt: skip


def _path(data: str) -> Any:
    """Path data of straight rings as the library's own path; None where nothing is left of it."""
    from matplotlib.path import Path  # noqa: PLC0415 -- slow import

    points: list[tuple[float, float]] = []
    codes: list[Any] = []
    for ring in re.findall(r"M([^MZ]*)Z", data):
        corners = [tuple(map(float, point.split())) for point in ring.split("L")]
        points += [(x, y) for x, y in corners] + [(corners[0][0], corners[0][1])]
        codes += [Path.MOVETO, *[Path.LINETO] * (len(corners) - 1), Path.CLOSEPOLY]
    return Path(points, codes) if points else None


def _draw_degrees(axes: Axes, picture: MapPicture) -> None:
    for text, x in picture.meridians:
        axes.axvline(x, color=style.RULE, linewidth=0.5, zorder=0.5)
        axes.text(x, picture.height - 5, text, ha="center", va="bottom", fontsize=6, color=style.SOFT, zorder=3)
    for text, y in picture.parallels:
        axes.axhline(y, color=style.RULE, linewidth=0.5, zorder=0.5)
        axes.text(5, y, text, ha="left", va="center", fontsize=6, color=style.SOFT, zorder=3)


def _draw_marks(axes: Axes, picture: MapPicture) -> None:
    anchors = {"start": "left", "middle": "center", "end": "right"}
    for mark in picture.marks:
        shape, size, colour = _MARKS[mark.kind]
        several = mark.count > 1
        axes.plot(
            [mark.x], [mark.y], marker=shape, markersize=size * (1.45 if several else 1), color=colour,
            markeredgecolor="white", markeredgewidth=0.8, linestyle="none", zorder=6,
        )  # fmt: skip
        if several:
            axes.text(
                mark.x, mark.y, str(mark.count), ha="center", va="center_baseline", fontsize=6.5, color="white",
                fontweight="bold", zorder=7,
            )  # fmt: skip
        if mark.label:
            x, y, anchor = mark.label
            axes.text(
                x, y, mark.text, ha=anchors[anchor], va="baseline", fontsize=7, color=style.INK, zorder=8,
                bbox={"facecolor": "white", "alpha": 0.7, "edgecolor": "none", "pad": 0.6},
            )  # fmt: skip


def _draw_furniture(axes: Axes, picture: MapPicture) -> None:
    right, low = picture.width - 16, picture.height - 30
    axes.plot(
        [right - picture.bar_units, right - picture.bar_units, right, right], [low - 5, low, low, low - 5],
        color=style.INK, linewidth=1.2, zorder=9,
    )  # fmt: skip
    axes.text(
        right - picture.bar_units / 2, low - 8, picture.bar, ha="center", va="bottom", fontsize=7, color=style.INK,
        zorder=9,
    )  # fmt: skip
    axes.annotate(
        "", xy=(picture.width - 25, 14), xytext=(picture.width - 25, 50), zorder=9,
        arrowprops={"arrowstyle": "-|>", "color": style.INK, "linewidth": 1.2},
    )  # fmt: skip
    axes.text(picture.width - 25, 63, picture.north, ha="center", fontsize=8, color=style.INK, zorder=9)


def _draw_legend(figure: Any, picture: MapPicture) -> None:
    from matplotlib.lines import Line2D  # noqa: PLC0415 -- slow import
    from matplotlib.patches import Patch  # noqa: PLC0415

    handles: list[Any] = [
        Line2D([], [], marker=shape, color=colour, linestyle="none", markersize=6, label=picture.names[kind])
        for kind, (shape, _size, colour) in _MARKS.items()
        if any(mark.kind == kind for mark in picture.marks)
    ]
    if picture.lines:
        handles.append(Line2D([], [], color=_LEAF, alpha=0.4, linewidth=3, label=picture.names["line"]))
    kinds = {area.kind for area in picture.areas}
    if "region" in kinds:
        handles.append(Patch(facecolor=_GROUNDS[0], edgecolor="#a59a7c", label=picture.names["region"]))
    if "basin" in kinds:
        handles.append(Line2D([], [], color=_WATER, linestyle=(0, (4, 2)), label=picture.names["basin"]))
    figure.legend(
        handles=handles, loc="lower left", bbox_to_anchor=(0, 0), ncols=len(handles), frameon=False, fontsize=7,
        handlelength=1.6, columnspacing=1.3, borderaxespad=0.1,
    )  # fmt: skip
