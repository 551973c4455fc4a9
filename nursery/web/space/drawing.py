"""A year of bench as bars, with positions across in percent: it fits any screen, and its words keep their size."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from nursery.i18n import format_number, month_name
from nursery.i18n import gettext as _
from nursery.services.space.occupancy import Use
from nursery.services.weeks import Week

#: Room above the bars for the marks of overflow, and below them for the months, in pixels.
HEAD, FOOT = 20, 22


@dataclass(frozen=True, slots=True)
class Bar:
    """One week: heights in pixels from the top; ``x`` and ``width`` in percent."""

    x: float
    width: float
    growing_y: float
    growing_height: float
    planned_y: float
    planned_height: float
    over_y: float
    over_height: float
    title: str
    url: str

    @property
    def middle(self) -> float:
        """Where a mark above the bar stands, in percent."""
        return round(self.x + self.width / 2, 3)


@dataclass(frozen=True)
class Drawing:
    """All bars of one place, the line of its area, the months."""

    height: int
    base: float
    bars: Sequence[Bar]
    area_y: float | None
    area: str
    months: Sequence[tuple[float, str]]


def draw(
    use: Use, weeks: Sequence[Week], url: Callable[[Week], str] | None, *, height: int, most: float = 0.0
) -> Drawing:
    """The bars of one place over the weeks; ``most`` m² fit in at least."""
    area = use.place.area_m2
    scale = height / max(float(use.taken.max(initial=0.0)), area or 0.0, most, 0.1)
    base = HEAD + height
    step = 100 / len(weeks)
    bars = []
    for number, week in enumerate(weeks):
        growing, planned, missing = (float(column[number]) for column in (use.growing, use.planned, use.over))
        top = base - (growing + planned) * scale
        bars.append(
            Bar(
                x=round(number * step + step * 0.06, 3),
                width=round(step * 0.88, 3),
                growing_y=round(base - growing * scale, 2),
                growing_height=round(growing * scale, 2),
                planned_y=round(top, 2),
                planned_height=round(planned * scale, 2),
                over_y=round(top, 2),
                over_height=round(missing * scale, 2),
                title=f"{week.label}, {week.span}: {told(use, number)}",
                url=url(week) if url else "",
            )
        )
    return Drawing(
        height=height + HEAD + FOOT,
        base=base,
        bars=bars,
        area_y=None if area is None else round(base - area * scale, 2),
        area="" if area is None else _("%(area)s m² in all", area=format_number(area, 1)),
        months=months(weeks, step),
    )


def told(use: Use, number: int) -> str:
    """One week of one place in words."""
    taken = format_number(float(use.taken[number]), 1)
    if use.place.area_m2 is None:
        return _("%(taken)s m² taken", taken=taken)
    if use.over[number] > 0:
        return _(
            "%(taken)s m² taken, %(missing)s m² too little",
            taken=taken,
            missing=format_number(float(use.over[number]), 1),
        )
    free = use.place.area_m2 - float(use.taken[number])
    return _("%(taken)s m² taken, %(free)s m² free", taken=taken, free=format_number(max(free, 0.0), 1))


def months(weeks: Sequence[Week], step: float) -> list[tuple[float, str]]:
    """Where months begin, in percent; every third one where there are many."""
    found = []
    every = 1 if len(weeks) < 80 else 3
    for number, week in enumerate(weeks):
        if (week.monday.month - 1) % every:
            continue
        turns = number == 0 or week.monday.month != weeks[number - 1].monday.month
        # A month that only begins at the right edge would be cut off.
        if turns and number < len(weeks) - 2 and not (number == 0 and weeks[2].monday.month != week.monday.month):
            found.append((round(number * step, 3), month_name(week.monday.month)))
    return found
