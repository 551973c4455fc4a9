"""Hours by week as a picture: what the work asks for as bars, what people have as a line."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nursery.documents import style
from nursery.documents.svg import written
from nursery.i18n import format_number, format_short_day

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PAID = style.Fill("#8db5a2", "", "#1d5547")
GIVEN = style.Fill("#f4ddb0", "///", "#7d5100")
OVER = style.Fill("#f1c3a8", "xxx", "#962d1b")


@dataclass(frozen=True, slots=True)
class HoursBar:
    """One week: work that paid people do, that volunteers do, and that nobody has hours for; what people have."""

    monday: dt.date
    by_paid: float
    by_volunteers: float
    over: float
    paid: float
    volunteers: float


@dataclass(frozen=True, slots=True)
class HoursWords:
    """Texts of the chart in the reader's language."""

    title: str
    hours: str
    by_paid: str
    by_volunteers: str
    over: str
    paid: str
    volunteers: str


def hours_svg(bars: Sequence[HoursBar], *, words: HoursWords, narrow: bool = False) -> bytes:
    """Draw the weeks from left to right.

    Returns
    -------
    bytes
        An SVG without scripts or links. Bars have ids ``paid-N``, ``given-N`` and ``over-N`` by week, the lines
        ``has-paid`` and ``has-all``.
    """
    from matplotlib.figure import Figure  # noqa: PLC0415 -- slow import

    width, height, font = (400, 360, 13.0) if narrow else (1180, 380, 12.5)
    with style.DRAWING:
        style.set_style()
        figure = Figure(figsize=(width / 72, height / 72))
        left, legend = (52, 96) if narrow else (64, 34)
        axes = figure.add_axes(
            (left / width, 46 / height, (width - left - 14) / width, (height - 46 - legend) / height)
        )
        _draw_bars(axes, bars, words)
        _draw_people(axes, bars, words)
        _draw_axes(axes, bars, words, font=font, step=max(len(bars) // (5 if narrow else 13), 1))
        figure.legend(
            handles=axes.get_legend_handles_labels()[0], loc="upper left", bbox_to_anchor=(0.0, 1.0),
            ncols=1 if narrow else 5, frameon=False, fontsize=font - 1, handlelength=2.4, borderaxespad=0.3,
        ).set_gid("legend")  # fmt: skip
        return written(figure, words.title, width, height)


def _draw_bars(axes: Axes, bars: Sequence[HoursBar], words: HoursWords) -> None:
    at, floor = range(len(bars)), [0.0] * len(bars)
    for fill, name, heights, label in (
        (PAID, "paid", [bar.by_paid for bar in bars], words.by_paid),
        (GIVEN, "given", [bar.by_volunteers for bar in bars], words.by_volunteers),
        (OVER, "over", [bar.over for bar in bars], words.over),
    ):
        drawn = axes.bar(
            at, heights, bottom=floor, width=0.74, color=fill.ground, edgecolor=fill.line,
            hatch=fill.hatch or None, linewidth=0.9, label=label, zorder=2,
        )  # fmt: skip
        for week, patch in enumerate(drawn):
            patch.set_gid(f"{name}-{week}")
            patch.set_visible(heights[week] > 0)
        floor = [low + height for low, height in zip(floor, heights, strict=True)]


def _draw_people(axes: Axes, bars: Sequence[HoursBar], words: HoursWords) -> None:
    edges = [at - 0.5 for at in range(len(bars) + 1)]
    for name, label, values, dashes in (
        ("has-paid", words.paid, [bar.paid for bar in bars], (0, (2, 2))),
        ("has-all", words.volunteers, [bar.paid + bar.volunteers for bar in bars], "solid"),
    ):
        line = axes.step(
            edges, [*values, values[-1] if values else 0], where="post", color=style.INK, linewidth=1.6,
            linestyle=dashes, label=label, zorder=4,
        )  # fmt: skip
        line[0].set_gid(name)


def _draw_axes(axes: Axes, bars: Sequence[HoursBar], words: HoursWords, *, font: float, step: int) -> None:
    shown = range(0, len(bars), step)
    axes.set_xticks(list(shown), [format_short_day(bars[at].monday) for at in shown], fontsize=font - 1.5)
    axes.set_xlim(-0.5, max(len(bars), 1) - 0.5)
    top = max((bar.by_paid + bar.by_volunteers + bar.over for bar in bars), default=0.0)
    axes.set_ylim(0, max(top, max((bar.paid + bar.volunteers for bar in bars), default=0.0), 1.0) * 1.08)
    axes.yaxis.set_major_formatter(lambda value, _at: format_number(value))
    axes.set_ylabel(words.hours, fontsize=font - 1)
    axes.tick_params(axis="both", length=0, labelsize=font - 1.5, colors=style.SOFT)
    axes.grid(axis="y", color=style.RULE, linewidth=0.8)
    axes.set_axisbelow(True)
    for side in ("left", "right", "top"):
        axes.spines[side].set_visible(False)
