"""The frame of a calendar chart: how far it reaches, its months, today’s line and the legend."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from nursery.documents import style
from nursery.documents.chart_parts import ChartRow, ChartWords, Shape
from nursery.i18n import format_short_day, month_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

#: What lies further back than this before today is cut off, unless all of the chart does.
LOOK_BACK_DAYS = 62


def extent(rows: Sequence[ChartRow], today: dt.date) -> tuple[dt.date, dt.date]:
    """First and last day that the chart shows."""
    starts = [row.bars[0].start if row.bars else row.plant_on for row in rows] or [today]
    last = max((row.plant_on for row in rows), default=today)
    first = min(starts)
    if last >= today:
        first = min(max(first, today - dt.timedelta(days=LOOK_BACK_DAYS)), today)
    last = max(last, first + dt.timedelta(days=90))
    first = (first - dt.timedelta(days=3)).replace(day=1)
    return first, last + dt.timedelta(days=12)


def draw_months(axes: Axes, first: dt.date, last: dt.date, shape: Shape) -> None:
    """Month names above and below, a line where each month begins."""
    step = shape.months_between * (1 if (last - first).days < 560 else 3)
    starts = []
    year, month = first.year, first.month
    while (day := dt.date(year, month, 1)) <= last:
        starts.append(day)
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    shown = [day for day in starts if (day.month - 1) % step == 0] or starts[:1]
    labels = [
        month_name(day.month) + (f"\n{day.year}" if day.month <= step or day == shown[0] else "\n")
        for day in shown
    ]
    axes.set_xticks([(day - first).days for day in shown], labels, ha="left", fontsize=shape.font - 1.5)
    axes.set_xticks([(day - first).days for day in starts], minor=True)
    axes.grid(axis="x", which="both", color=style.RULE, linewidth=0.8)
    axes.set_axisbelow(True)
    axes.tick_params(axis="x", which="both", length=0, labeltop=True, labelbottom=True, pad=1)
    axes.set_yticks([])
    for side in ("left", "right"):
        axes.spines[side].set_visible(False)


def draw_today(axes: Axes, today: dt.date, first: dt.date, last: dt.date, words: ChartWords, shape: Shape) -> None:
    """A line through all rows, with its word and day."""
    if not first <= today <= last:
        return
    day = (today - first).days
    axes.axvline(day, color=style.BRICK, linewidth=1.6, zorder=5).set_gid("today")
    axes.annotate(
        f"{words.today}, {format_short_day(today)}", (day, 0), xycoords=axes.get_xaxis_transform(),
        xytext=(3, -46), textcoords="offset points", color=style.BRICK, fontsize=shape.font - 1.5, va="center",
    )  # fmt: skip


def kinds(rows: Sequence[ChartRow]) -> list[str]:
    """Kinds of phases that occur, in the order in which a plant lives them."""
    found = {bar.kind for row in rows for bar in row.bars}
    return [kind for kind in style.FILLS if kind in found] + sorted(found - set(style.FILLS))


def draw_legend(figure: Figure, rows: Sequence[ChartRow], words: ChartWords, shape: Shape) -> None:
    """What each ground, hatching and mark means, for what occurs in the rows."""
    from matplotlib.lines import Line2D  # noqa: PLC0415 -- slow import
    from matplotlib.patches import Patch  # noqa: PLC0415 -- slow import

    handles: list[Any] = []
    for kind in kinds(rows):
        fill = style.FILLS.get(kind, style.UNKNOWN)
        handles.append(
            Patch(
                facecolor=fill.ground,
                edgecolor=fill.line,
                hatch=fill.hatch or None,
                label=words.phases.get(kind, kind),
            )
        )
    wait = style.WAIT
    handles.append(Patch(facecolor=wait.ground, edgecolor=wait.line, linestyle="dashed", label=words.waiting))
    for marker, label in (("v", words.sowing), ("D", words.planting)):
        handles.append(Line2D([], [], marker=marker, color=style.INK, linestyle="none", markersize=6, label=label))
    handles.append(Line2D([], [], color=style.BRICK, linewidth=1.6, label=words.today))
    legend = figure.legend(
        handles=handles, loc="upper left", bbox_to_anchor=(0.0, 1.0), ncols=shape.legend_columns, frameon=False,
        fontsize=shape.font - 1.5, handlelength=2.6, handleheight=1.1, columnspacing=1.4, borderaxespad=0.3,
    )  # fmt: skip
    legend.set_gid("legend")
