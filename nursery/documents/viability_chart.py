"""How a lot's viability falls: the forecast as a curve, tests as points, today and what is due as lines."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nursery.documents import style
from nursery.documents.svg import written
from nursery.i18n import format_percent, month_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LEAF = "#1d5547"
_TICKS = 5


@dataclass(frozen=True, slots=True)
class Point:
    """What a test found, with the range in which the truth lies; ``rules`` for the one the curve starts from."""

    day: dt.date
    value: float
    low: float | None
    high: float | None
    rules: bool


@dataclass(frozen=True, slots=True)
class Mark:
    """A day that matters; today's is drawn full, the others broken."""

    day: dt.date
    label: str
    is_today: bool = False


@dataclass(frozen=True, slots=True)
class ViabilityWords:
    """Texts of the chart in the reader's language."""

    title: str
    viability: str


def viability_svg(
    curve: Sequence[tuple[dt.date, float]],
    points: Sequence[Point],
    marks: Sequence[Mark],
    *,
    words: ViabilityWords,
    narrow: bool = False,
) -> bytes:
    """Draw the curve over the days from its first to its last.

    Returns
    -------
    bytes
        An SVG without scripts, styles from elsewhere or links; the curve has the id ``curve``, tests
        ``test-NUMBER``, lines ``mark-NUMBER``.
    """
    from matplotlib.figure import Figure  # noqa: PLC0415 -- slow import

    width, height, font = (400, 300, 13.0) if narrow else (720, 300, 12.5)
    with style.DRAWING:
        style.set_style()
        figure = Figure(figsize=(width / 72, height / 72))
        axes = figure.add_axes((52 / width, 40 / height, (width - 70) / width, (height - 118) / height))
        first = min([curve[0][0], *(point.day for point in points)])
        _frame(axes, first, curve[-1][0], words, font)
        (line,) = axes.plot(
            [(day - first).days for day, _v in curve], [v for _day, v in curve], color=_LEAF, lw=2.2
        )
        line.set_gid("curve")
        for number, point in enumerate(points):
            _point(axes, point, (point.day - first).days, f"test-{number}")
        for number, mark in enumerate(sorted(marks, key=lambda mark: mark.day)):
            _mark(axes, mark, (mark.day - first).days, number, font)
        return written(figure, words.title, width, height)


def _frame(axes: Axes, first: dt.date, last: dt.date, words: ViabilityWords, font: float) -> None:
    axes.set_xlim(0, max((last - first).days, 1))
    axes.set_ylim(0, 1)
    shares = (0, 0.25, 0.5, 0.75, 1)
    axes.set_yticks(shares, [format_percent(share) for share in shares], fontsize=font - 1.5)
    days = _ticks(first, last)
    labels = [f"{month_name(day.month)}\n{day.year}" for day in days]
    axes.set_xticks([(day - first).days for day in days], labels, fontsize=font - 1.5)
    axes.tick_params(length=0)
    axes.grid(color=style.RULE, linewidth=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.set_title(words.viability, loc="left", fontsize=font, color=style.INK, pad=62, x=-0.06)


def _ticks(first: dt.date, last: dt.date) -> list[dt.date]:
    """Beginnings of months, a handful, evenly apart."""
    months = [
        dt.date(first.year + month // 12, month % 12 + 1, 1)
        for month in range(first.month - 1, (last.year - first.year) * 12 + last.month)
    ]
    shown = [day for day in months if first <= day <= last]
    return shown[:: max(-(-len(shown) // _TICKS), 1)] or [first]


def _point(axes: Axes, point: Point, day: int, name: str) -> None:
    if point.low is not None and point.high is not None:
        axes.plot([day, day], [point.low, point.high], color=style.INK, lw=1.2, zorder=4, clip_on=False)
    (dot,) = axes.plot(
        [day], [point.value], marker="D" if point.rules else "o", markersize=7, color=style.INK, zorder=5,
        markerfacecolor=style.INK if point.rules else style.SHEET, linestyle="none", clip_on=False,
    )  # fmt: skip
    dot.set_gid(name)


def _mark(axes: Axes, mark: Mark, day: int, number: int, font: float) -> None:
    colour = style.BRICK if mark.is_today else style.SOFT
    line = axes.axvline(day, color=colour, lw=1.6, linestyle="-" if mark.is_today else (0, (4, 3)), zorder=3)
    line.set_gid(f"mark-{number}")
    late = day > axes.get_xlim()[1] / 2
    # Words of days that lie close together stand one above the other.
    place = (-3 if late else 3, 8 + 16 * (number % 3))
    axes.annotate(
        mark.label, (day, 1), xycoords=axes.get_xaxis_transform(), xytext=place,
        textcoords="offset points", color=colour, fontsize=font - 1.5, ha="right" if late else "left", va="center",
    )  # fmt: skip
