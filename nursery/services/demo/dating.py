"""The demo's days, all told from today, so that the season is live whenever it is loaded."""

from __future__ import annotations

import datetime as dt

#: From this month on little that is sown now can be planted in the coming winter.
_TURN = 3
#: Planting begins in this month.
_OPENS = 11


def season_of(word: str, today: dt.date) -> int:
    """First year of a planting winter: ``next`` opens next, ``0`` is the first that most sowings still make."""
    if word == "next":
        return today.year if today.month < _OPENS else today.year + 1
    first = today.year if today.month < _TURN else today.year + 1
    return first + int(word)


def collected_on(day: str, today: dt.date, age: int) -> dt.date:
    """The newest ``MM-DD`` that lies a week or more back, or ``age`` years before that one."""
    month, number = (int(part) for part in day.split("-"))
    newest = dt.date(today.year, month, number)
    if newest > today - dt.timedelta(days=7):
        newest = newest.replace(year=newest.year - 1)
    return newest.replace(year=newest.year - age)


def ripening_year(collected: dt.date, months: tuple[int, ...]) -> int:
    """The year in which seed ripened: fruit that hangs over the new year belongs to the autumn before."""
    over_new_year = collected.month <= 3 and {12} & set(months)
    return collected.year - 1 if over_new_year else collected.year


#: The day of the year on which the plan of the running crop was made, and the days that must lie behind it.
_FLOOR_MONTH, _FLOOR_DAY, _FLOOR_BACK = 1, 29, 45


def finished_day(today: dt.date) -> dt.date:
    """The day on which the crop of the season that is over was planned: a year before the one that grows now."""
    day = floor_day(today)
    return day.replace(year=day.year - 1)


def floor_day(today: dt.date) -> dt.date:
    """The day on which the crop that grows now was planned: late January, some weeks back at least."""
    day = dt.date(today.year, _FLOOR_MONTH, _FLOOR_DAY)
    return day if (today - day).days >= _FLOOR_BACK else day.replace(year=today.year - 1)
