"""Headings of the page's table, and the points of its chart."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from nursery.i18n import gettext as _
from nursery.services.ready.query import LABELS, By, ReadyQuery
from nursery.services.ready.season import ReadySeason
from nursery.services.ready.tables import columns_of
from nursery.services.ready.week_rows import When


@dataclass(frozen=True, slots=True)
class WeekPoint:
    """What is ready by the end of a week."""

    day: dt.date
    expected: float
    p10: int
    p90: int


def columns(query: ReadyQuery, url: Callable[[str], str]) -> list[dict[str, Any]]:
    """Headings; ``url`` gives the address that sorts by a key."""
    first: list[dict[str, Any]] = [{"label": str(LABELS[query.by]), **_sorting(query, "name", url)}]
    if query.by is By.BATCH:
        first += [{"label": _("Size grade")}, {"label": _("Origin")}, {"label": _("Planting site")}]
        first += [{"label": _("Ready")}]
    return first + [
        {"label": str(column.label), "numeric": True, **_sorting(query, column.key, url)}
        for column in columns_of(query.by)
    ]


def week_points(season: ReadySeason) -> tuple[Sequence[WeekPoint], int]:
    """Points of the chart, and what has been asked for by its end; none where nothing changes."""
    rows = [row for row in season.weeks if row.when in {When.BEFORE, When.WEEK}]
    if not any(row.by_then for row in rows):
        return [], 0
    points = [
        WeekPoint(row.week.monday if row.when is When.BEFORE else row.week.sunday, row.by_then, row.low, row.high)
        for row in rows
    ]
    return points, rows[-1].asked


def _sorting(query: ReadyQuery, key: str, url: Callable[[str], str]) -> dict[str, str]:
    # A first click on a number brings the largest to the top.
    usual, turned = (key, f"-{key}") if key == "name" else (f"-{key}", key)
    found = {"url": url(turned if query.sort == usual else usual)}
    if query.sort.removeprefix("-") == key:
        found["sorted"] = "descending" if query.sort.startswith("-") else "ascending"
    return found
