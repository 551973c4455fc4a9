"""The forecast after each count, drawn: per cent across and pixels down, so that words keep their size."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

from nursery.i18n import format_date, format_number, format_short_day

HEIGHT, TOP, BASE = 190, 12, 160
#: Left of the first bar stand the numbers of the scale.
LEFT, RIGHT = 12.0, 97.0
#: More days than this below the drawing would run into each other on a phone.
MOST_DAYS = 6


class HasRange(Protocol):
    """What is known at one time: a number and the range around it."""

    @property
    def day(self) -> dt.date:
        """When."""
        ...

    @property
    def expected(self) -> float:
        """The middle."""
        ...

    @property
    def p10(self) -> int:
        """Not reached in one case of ten."""
        ...

    @property
    def p90(self) -> int:
        """Passed in one case of ten."""
        ...


@dataclass(frozen=True, slots=True)
class Bar:
    """One point: the band of its range, and where its middle lies."""

    x: float
    width: float
    middle: float
    top: float
    height: float
    expected: float
    #: Empty where the day would run into another.
    day: str
    title: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """Bars in order of time; ``line`` joins what was expected, as pairs of places."""

    height: int
    base: int
    bars: Sequence[Bar]
    lines: Sequence[tuple[float, float, float, float]]
    #: Numbers of the scale with their places.
    marks: Sequence[tuple[float, str]]
    promised: float


def draw(points: Sequence[HasRange], promised: int) -> Drawing:
    """Lay the points of one target or batch out."""
    most = max([promised, 1, *(point.p90 for point in points)])
    step = _step(most)
    top = step * math.ceil(most / step)
    room = (RIGHT - LEFT) / len(points)
    width = min(room * 0.5, 9.0)
    every = math.ceil(len(points) / MOST_DAYS)
    bars = [
        Bar(
            x=round(LEFT + room * (at + 0.5) - width / 2, 2),
            width=round(width, 2),
            middle=round(LEFT + room * (at + 0.5), 2),
            top=_y(point.p90, top),
            height=round(max(_y(point.p10, top) - _y(point.p90, top), 2.0), 1),
            expected=_y(point.expected, top),
            day=format_short_day(point.day) if (len(points) - 1 - at) % every == 0 else "",
            title=f"{format_date(point.day)}: {format_number(point.p10)}–{format_number(point.p90)}",
        )
        for at, point in enumerate(points)
    ]
    lines = [(one.middle, one.expected, other.middle, other.expected) for one, other in pairwise(bars)]
    marks = [(_y(value, top), format_number(value)) for value in range(0, top + 1, step)]
    return Drawing(HEIGHT, BASE, bars, lines, marks, _y(promised, top))


def _y(plants: float, top: int) -> float:
    return round(BASE - (BASE - TOP) * plants / top, 1)


def _step(most: int) -> int:
    """A round step that divides the scale into two to five parts."""
    power: int = 10 ** (len(str(max(most, 1))) - 1)
    for part in (0.2, 0.5, 1, 2):
        step = max(int(power * part), 1)
        if most / step <= 5:
            return step
    return power * 5
