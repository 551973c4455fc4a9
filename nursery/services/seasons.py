"""Planting seasons: their names, and the days they span."""

from __future__ import annotations

import calendar
import datetime as dt


def season_name(season: int) -> str:
    """2027 as 2027/28."""
    return f"{season}/{(season + 1) % 100:02d}"


def season_span(season: int, *, southern: bool = False) -> tuple[dt.date, dt.date]:
    """First and last day: July to June, so that 2027/28 is the winter between.

    South of the equator the season is the calendar year, and a window that opens in it may close in the next.
    """
    if southern:
        return dt.date(season, 1, 1), dt.date(season + 1, 6, 30)
    return dt.date(season, 7, 1), dt.date(season + 1, 6, 30)


def season_of(day: dt.date) -> int:
    """The northern season that a day lies in."""
    return day.year if day.month >= 7 else day.year - 1


def season_at(day: dt.date, *, southern: bool = False) -> int:
    """The season in which something was planted on a day."""
    return day.year if southern else season_of(day)


def window_days(season: int, opens: str, closes: str, *, southern: bool = False) -> tuple[dt.date, dt.date]:
    """First and last planting day of a season by days of the year, ``MM-DD``, as `planning.gather` has it."""
    first, last = (_day_in(season, day, southern=southern) for day in (opens, closes))
    return first, last if last >= first else _day_in(season + 1, closes, southern=southern)


def _day_in(season: int, month_day: str, *, southern: bool) -> dt.date:
    month, day = int(month_day[:2]), int(month_day[3:])
    year = season + (not southern and month < 7)
    return dt.date(year, month, min(day, calendar.monthrange(year, month)[1]))
