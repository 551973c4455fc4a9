"""The rows of a calendar chart: labels, bars of phases, waits, marks of sowing and planting."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from nursery.documents import style
from nursery.documents.chart_parts import NARROW, Bar, ChartRow, ChartWords, Shape

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def draw_row(axes: Axes, row: ChartRow, number: int, first: dt.date, shape: Shape, words: ChartWords) -> None:
    """One line of the plan, ``number`` rows below the top."""
    from matplotlib.transforms import blended_transform_factory  # noqa: PLC0415 -- slow import

    left = blended_transform_factory(axes.figure.transFigure, axes.transData)
    ground = style.BAND if number % 2 else style.SHEET
    if number % 2:
        axes.fill_between(
            [0, 1], number, number + 1, color=ground, zorder=0, linewidth=0, transform=left, clip_on=False
        )
    # Today's line must not strike the words out.
    behind = {"facecolor": ground, "edgecolor": "none", "pad": 0.6}
    heights = (0.17, 0.4) if shape is NARROW else (0.3, 0.7)
    for height, words_of, size, slant, colour in (
        (heights[0], row.title, shape.font, "italic", style.INK),
        (heights[1], row.subtitle, shape.font - 2, "normal", style.SOFT),
    ):
        axes.text(
            8 / shape.width, number + height, words_of, fontsize=size, style=slant, color=colour, transform=left,
            va="center", zorder=6, bbox=behind,
        )  # fmt: skip
    middle = number + shape.bar_middle
    for place, bar in enumerate(row.bars):
        _bar(axes, bar, f"{number}-{place}", middle, first, shape, words)
    _mark(axes, (row.sow_on - first).days, middle - shape.bar_height / 2, "v", f"sow-{number}")
    _mark(axes, (row.plant_on - first).days, middle, "D", f"plant-{number}")


def _bar(axes: Axes, bar: Bar, name: str, middle: float, first: dt.date, shape: Shape, words: ChartWords) -> None:
    # What begins before the chart is cut at its edge; what ends before it is not drawn.
    start, end = max((bar.start - first).days, 0), (bar.end - first).days
    turn = end - bar.wait_days
    if turn > start or (turn == start and not bar.wait_days and start >= 0):
        fill = style.FILLS.get(bar.kind, style.UNKNOWN)
        _box(axes, start, max(turn - start, 1), middle, shape, fill, f"bar-{name}")
        _inscribe(axes, start, turn, middle, words.phases.get(bar.kind, bar.kind), fill, shape)
    if bar.wait_days and end > max(turn, start):
        _box(axes, max(turn, start), end - max(turn, start), middle, shape, style.WAIT, f"wait-{name}")


def _box(axes: Axes, start: float, days: float, middle: float, shape: Shape, fill: style.Fill, name: str) -> None:
    from matplotlib.patches import Rectangle  # noqa: PLC0415 -- slow import

    waits = fill is style.WAIT
    box = Rectangle(
        (start, middle - shape.bar_height / 2),
        days,
        shape.bar_height,
        facecolor=fill.ground,
        edgecolor=fill.line,
        hatch=fill.hatch or None,
        linewidth=0.8,
        linestyle="dashed" if waits else "solid",
        zorder=2,
    )
    box.set_gid(name)
    axes.add_patch(box)


def _inscribe(
    axes: Axes, start: float, end: float, middle: float, label: str, fill: style.Fill, shape: Shape
) -> None:
    """The phase's name on its bar, where it fits; 0.62 of the font's size is a wide letter's width."""
    low, high = axes.get_xlim()
    pixels = (end - start) / (high - low) * (shape.width - shape.label_width)
    size = shape.font - 2
    if pixels < len(label) * size * 0.62 + 10:
        return
    axes.text(
        (start + end) / 2, middle, label, ha="center", va="center", fontsize=size, zorder=6,
        bbox={"facecolor": fill.ground, "edgecolor": "none", "pad": 1.2},
    )  # fmt: skip


def _mark(axes: Axes, day: float, height: float, marker: str, name: str) -> None:
    if day < 0:
        return
    (line,) = axes.plot(
        [day], [height], marker=marker, markersize=7 if marker == "v" else 6, color=style.INK, linestyle="none",
        zorder=4, clip_on=False, markeredgecolor=style.SHEET, markeredgewidth=0.6,
    )  # fmt: skip
    line.set_gid(name)
