"""What a calendar chart is made of: rows and words that come in, sizes that are set here."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Bar:
    """A phase: its key and days; the last ``wait_days`` of it are waiting."""

    kind: str
    start: dt.date
    end: dt.date
    wait_days: int = 0


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One line of the plan; ``title`` is set in italics, as scientific names are."""

    title: str
    subtitle: str
    bars: Sequence[Bar]
    sow_on: dt.date
    plant_on: dt.date


@dataclass(frozen=True, slots=True)
class ChartWords:
    """Texts of the chart in the reader's language; ``phases`` by key."""

    title: str
    today: str
    waiting: str
    sowing: str
    planting: str
    phases: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Shape:
    """Sizes in CSS pixels. A narrow chart has its labels above the bars."""

    width: int
    label_width: int
    row_height: int
    bar_height: float
    bar_middle: float
    font: float
    legend_columns: int
    months_between: int


WIDE = Shape(1180, 290, 38, 0.56, 0.5, 12.5, 7, 1)
NARROW = Shape(400, 8, 60, 0.34, 0.72, 13, 2, 2)
#: Room for the months above and below the rows, for the word at today's line, and for a line of the legend.
MONTHS, FOOT, LEGEND_LINE = 40, 60, 18.5
