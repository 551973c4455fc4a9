"""How survival goes over the years: a line a species, with the interval of each survey."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from nursery.documents import style
from nursery.documents.svg import written
from nursery.i18n import format_number, format_percent

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

#: Colour, marker and line of each species; no two differ by colour alone.
_LOOKS: tuple[tuple[str, str, Any], ...] = (
    ("#1d5547", "o", "-"), ("#962d1b", "s", (0, (5, 2))), ("#245268", "^", "-."), ("#7d5100", "D", (0, (1, 1.5))),
    ("#5d6b1f", "v", "-"), ("#5f5a4b", "P", (0, (5, 2))), ("#6b2f63", "X", "-."), ("#2b2a23", "<", (0, (1, 1.5))),
)  # fmt: skip
#: Species lie this far apart, in years, so that their intervals do not cover each other.
_APART = 0.07
_LEGEND_LINE = 19


@dataclass(frozen=True, slots=True)
class Curve:
    """One species: by year alive ÷ planted and its interval."""

    name: str
    #: Year, rate, low, high.
    points: Sequence[tuple[int, float, float, float]]


@dataclass(frozen=True, slots=True)
class SurvivalWords:
    """Texts of the chart in the reader's language."""

    title: str
    rate: str
    years: str


def survival_svg(curves: Sequence[Curve], *, words: SurvivalWords, narrow: bool = False) -> bytes:
    """Draw the curves; all begin with 100 % on the day of planting.

    Returns
    -------
    bytes
        An SVG without scripts, styles from elsewhere or links; lines have the ids ``curve-NUMBER``, surveys
        ``survey-NUMBER-YEAR``.
    """
    from matplotlib.figure import Figure  # noqa: PLC0415 -- slow import

    columns = 1 if narrow else 3
    lines = -(-len(curves) // columns)
    width, font = (400, 13.0) if narrow else (720, 12.5)
    head = 34 + _LEGEND_LINE * lines
    height = head + 250 + 46
    with style.DRAWING:
        style.set_style()
        figure = Figure(figsize=(width / 72, height / 72))
        axes = figure.add_axes((52 / width, 46 / height, (width - 70) / width, 250 / height))
        _frame(axes, curves, words, font)
        for number, curve in enumerate(curves):
            _draw(axes, curve, number, (number - (len(curves) - 1) / 2) * _APART)
        _legend(figure, curves, columns, font)
        figure.text(8 / width, 1 - (head - 12) / height, words.rate, fontsize=font, color=style.INK, va="center")
        return written(figure, words.title, width, height)


def _frame(axes: Axes, curves: Sequence[Curve], words: SurvivalWords, font: float) -> None:
    last = max((point[0] for curve in curves for point in curve.points), default=1)
    axes.set_xlim(-0.1, max(last, 3) + 0.4)
    axes.set_ylim(0, 1)
    shares = (0, 0.25, 0.5, 0.75, 1)
    axes.set_yticks(shares, [format_percent(share) for share in shares], fontsize=font - 1.5)
    step = 1 if last <= 10 else 2
    years = range(0, max(last, 3) + 1, step)
    axes.set_xticks(list(years), [format_number(year) for year in years], fontsize=font - 1.5)
    axes.set_xlabel(words.years, fontsize=font - 0.5, color=style.INK)
    axes.tick_params(length=0)
    axes.grid(color=style.RULE, linewidth=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _draw(axes: Axes, curve: Curve, number: int, aside: float) -> None:
    colour, marker, dashes = _LOOKS[number % len(_LOOKS)]
    years = [0.0, *(point[0] + aside for point in curve.points)]
    (line,) = axes.plot(years, [1.0, *(point[1] for point in curve.points)], color=colour, lw=2, linestyle=dashes)
    line.set_gid(f"curve-{number}")
    for year, rate, low, high in curve.points:
        axes.plot([year + aside] * 2, [low, high], color=colour, lw=1.3, zorder=4, clip_on=False)
        (dot,) = axes.plot(
            [year + aside], [rate], marker=marker, markersize=7, color=colour, linestyle="none", zorder=5,
            clip_on=False,
        )  # fmt: skip
        dot.set_gid(f"survey-{number}-{year}")


def _legend(figure: Figure, curves: Sequence[Curve], columns: int, font: float) -> None:
    from matplotlib.lines import Line2D  # noqa: PLC0415 -- slow import

    handles = [
        Line2D([], [], color=colour, marker=marker, linestyle=dashes, lw=2, markersize=6, label=curve.name)
        for curve, (colour, marker, dashes) in zip(
            curves, (_LOOKS[number % len(_LOOKS)] for number in range(len(curves))), strict=True
        )
    ]
    figure.legend(
        handles=handles, loc="upper left", bbox_to_anchor=(0.0, 1.0), ncols=columns, frameon=False,
        fontsize=font - 1.5, handlelength=3, columnspacing=1.4, borderaxespad=0.3,
        prop={"style": "italic", "size": font - 1.5},
    )  # fmt: skip
