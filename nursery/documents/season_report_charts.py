"""Charts of a season's report: bars and intervals with their numbers beside them, to be read in print and in grey.

A ground is told from another by its darkness and its hatching, never by its colour alone.
"""

from __future__ import annotations

import io
import textwrap
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from nursery.documents import style
from nursery.documents.report_parts import BarRow, Chart, Ink, RangeRow
from nursery.documents.svg import written

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

#: From dark to light in grey as in colour.
INKS: dict[Ink, style.Fill] = {
    "done": style.Fill("#1d5547", "", "#1d5547"),
    "other": style.Fill("#d9c08a", "///", "#7d5100"),
    "unknown": style.Fill("#f4eee0", "...", "#5f5a4b"),
    "wanted": style.Fill("#fffcf5", "", "#2b2a23"),
}
DPI = 200


@dataclass(frozen=True, slots=True)
class Shape:
    """Sizes in pixels of 1/72 inch."""

    width: int
    labels: int
    values: int
    font: float
    row: float
    #: Letters in a line of a label, and of a number beside its bar.
    letters: int
    told: int


WIDE = Shape(1180, 300, 250, 14.0, 34.0, 40, 30)
NARROW = Shape(400, 128, 112, 12.5, 40.0, 17, 15)
#: As wide as the text of an A4 page.
PRINT = Shape(493, 140, 112, 8.6, 21.0, 30, 23)
_HEAD, _LEGEND = 8, 26


def chart_svg(chart: Chart, *, narrow: bool = False) -> bytes:
    """The chart for a page, without scripts or links."""
    with _drawing():
        figure, shape, height = _drawn(chart, NARROW if narrow else WIDE)
        return written(figure, chart.title, shape.width, round(height))


def chart_png(chart: Chart) -> bytes:
    """The chart for paper."""
    with _drawing():
        figure, _shape, _height = _drawn(chart, PRINT)
        figure.set_facecolor("#ffffff")
        for axes in figure.axes:
            axes.set_facecolor("#ffffff")
        buffer = io.BytesIO()
        figure.savefig(buffer, format="png", dpi=DPI, metadata={"Software": None})
        return buffer.getvalue()


@contextmanager
def _drawing() -> Iterator[None]:
    """One at a time; a sign that the font lacks is drawn as a box, which is no fault of the program."""
    with style.DRAWING, warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph .* missing from font", UserWarning)
        style.set_style()
        yield


def _drawn(chart: Chart, shape: Shape) -> tuple[Figure, Shape, float]:
    from matplotlib.figure import Figure  # noqa: PLC0415 -- slow import

    told = len(chart.legend) + bool(chart.mark)
    lines = 0 if told < 2 else -(-told // (1 if shape is NARROW else 3))
    head = _HEAD + lines * _LEGEND * shape.font / 12.5
    height = head + shape.row * max(len(chart.rows), 1) + _HEAD
    figure = Figure(figsize=(shape.width / 72, height / 72))
    room = (shape.width - shape.labels - shape.values) / shape.width
    axes = figure.add_axes((shape.labels / shape.width, _HEAD / height, room, (height - head - _HEAD) / height))
    axes.set_ylim(len(chart.rows) - 0.5, -0.5)
    _draw_labels(axes, chart, shape)
    if chart.rows and isinstance(chart.rows[0], RangeRow):
        _draw_ranges(axes, cast("list[RangeRow]", chart.rows), shape)
    else:
        _draw_bars(axes, cast("list[BarRow]", chart.rows), shape)
    if lines:
        _draw_legend(figure, chart, shape)
    return figure, shape, height


def _draw_labels(axes: Axes, chart: Chart, shape: Shape) -> None:
    axes.set_yticks(
        range(len(chart.rows)), [_wrapped(row.label, shape.letters) for row in chart.rows], fontsize=shape.font,
        color=style.INK, linespacing=0.95,
    )  # fmt: skip
    rows = cast("Sequence[BarRow | RangeRow]", chart.rows)
    for row, label in zip(rows, axes.get_yticklabels(), strict=True):
        label.set_fontstyle("italic" if row.is_taxon else "normal")
    axes.tick_params(axis="both", length=0)
    for side in ("right", "top", "bottom"):
        axes.spines[side].set_visible(False)
    axes.spines["left"].set_color(style.INK)


def _draw_bars(axes: Axes, rows: list[BarRow], shape: Shape) -> None:
    top = max([sum(value for value, _ink in row.parts) for row in rows] + [row.mark or 0 for row in rows] + [0])
    axes.set_xlim(0, top or 1)
    axes.set_xticks([])
    for at, row in enumerate(rows):
        reached = 0.0
        for value, ink in row.parts:
            fill = INKS[ink]
            if value > 0:
                axes.barh(
                    at, value, left=reached, height=0.58, color=fill.ground, edgecolor=fill.line, linewidth=0.8,
                    hatch=fill.hatch or None, zorder=2,
                )  # fmt: skip
            reached += value
        if row.mark:
            axes.barh(
                at, row.mark, height=0.82, fill=False, edgecolor=style.INK, linewidth=1.1, zorder=3,
                linestyle=(0, (3, 1.6)),
            )  # fmt: skip
        _write_value(axes, max(reached, row.mark or 0), at, row.text, shape)


def _draw_ranges(axes: Axes, rows: list[RangeRow], shape: Shape) -> None:
    axes.set_xlim(0, 1)
    axes.set_xticks([0, 0.25, 0.5, 0.75, 1.0], [""] * 5)
    axes.grid(axis="x", color=style.RULE, linewidth=0.8)
    axes.set_axisbelow(True)
    for at, row in enumerate(rows):
        axes.plot([row.low, row.high], [at, at], color=style.INK, linewidth=2.2, solid_capstyle="butt", zorder=2)
        for end in (row.low, row.high):
            axes.plot([end, end], [at - 0.17, at + 0.17], color=style.INK, linewidth=1.4, zorder=2)
        axes.plot(
            [row.value], [at], marker="o", markersize=shape.font * 0.62, color="#1d5547",
            markeredgecolor="#ffffff", zorder=3,
        )  # fmt: skip
        _write_value(axes, 1.0, at, row.text, shape)


def _write_value(axes: Axes, x: float, at: int, text: str, shape: Shape) -> None:
    axes.annotate(
        _wrapped(text, shape.told), (x, at), xytext=(6, 0), textcoords="offset points",
        va="center", fontsize=shape.font, color=style.INK, annotation_clip=False, linespacing=0.95,
    )  # fmt: skip


def _draw_legend(figure: Figure, chart: Chart, shape: Shape) -> None:
    from matplotlib.lines import Line2D  # noqa: PLC0415 -- slow import
    from matplotlib.patches import Patch  # noqa: PLC0415

    handles: list[Any] = [
        Patch(
            facecolor=INKS[ink].ground, edgecolor=INKS[ink].line, hatch=INKS[ink].hatch or None, label=label
        )
        for ink, label in chart.legend
    ]  # fmt: skip
    if chart.mark:
        handles.append(Line2D([], [], color=style.INK, linewidth=1.1, linestyle=(0, (3, 1.6)), label=chart.mark))
    figure.legend(
        handles=handles, loc="upper left", bbox_to_anchor=(0.0, 1.0), ncols=1 if shape is NARROW else 3,
        frameon=False, fontsize=shape.font, handlelength=2.2, borderaxespad=0.2,
    )  # fmt: skip


def _wrapped(text: str, letters: int) -> str:
    # A number and its sign stay on one line.
    lines = textwrap.wrap(text.replace(" %", "\u00a0%"), letters, break_long_words=False)
    return "\n".join([*lines[:1], textwrap.shorten(" ".join(lines[1:]), letters, placeholder="…")][: len(lines)])
