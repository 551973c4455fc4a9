"""Planting seasons and days of the year as people write them."""

from __future__ import annotations

import datetime as dt
import re

from babel import dates

from nursery.errors import Invalid
from nursery.i18n import LOCALES
from nursery.i18n import gettext as _
from nursery.services.year_days import day_text
from nursery.tabular.headings import plain_heading

_SEASON = re.compile(r"(?P<first>\d{4})(?: ?[/–-] ?(?P<second>\d{2}|\d{4}))?")
_HYPHEN = re.compile(r"(?P<month>\d{1,2})-(?P<day>\d{1,2})")
_DAY_FIRST = re.compile(r"(?P<day>\d{1,2})[/.] ?(?P<month>\d{1,2})\.?")
_WORDS = re.compile(r"(?P<day>\d{1,2}) (?:de )?(?P<month>[a-z]+)|(?P<month2>[a-z]+) (?P<day2>\d{1,2})")


def parse_season(text: str) -> int:
    """First year of a planting winter: 2027 for 2027/28, 2027-2028 and 2027."""
    found = _SEASON.fullmatch(text.strip())
    if found:
        first, second = int(found["first"]), found["second"]
        if second is None or int(second) == (first + 1) % 10 ** len(second):
            return first
    raise Invalid({"season": _("“%(text)s” is no season. Write 2027/28, or its first year.", text=text)})


def parse_day(text: str) -> str:
    """A day of any year as ``MM-DD``, from 1/11 or 1.11. (day first), 1 Nov, 11-20 or 20-11.

    With a hyphen people write month-day, as ISO dates do, and day-month: what can be both is refused.
    """
    plain = text.strip()
    month = day = 0
    if found := _HYPHEN.fullmatch(plain):
        month, day = int(found["month"]), int(found["day"])
        if month <= 12 and day <= 12 and month != day:
            raise _two_readings(month, day, text)
        if month > 12:
            month, day = day, month
    elif found := _DAY_FIRST.fullmatch(plain):
        month, day = int(found["month"]), int(found["day"])
    elif found := _WORDS.fullmatch(plain_heading(plain)):
        month = _month(found["month"] or found["month2"])
        day = int(found["day"] or found["day2"])
    return day_of_year(month, day, text)


def _two_readings(first: int, second: int, text: str) -> Invalid:
    if not (first and second):
        return _no_day(text)
    return Invalid(
        {
            "day": _(
                "“%(text)s” can be read in two ways. Write %(one)s or %(other)s.",
                text=text.strip(),
                one=day_text(f"{first:02d}-{second:02d}"),
                other=day_text(f"{second:02d}-{first:02d}"),
            )
        }
    )


def day_of_year(month: int, day: int, text: str) -> str:
    """``MM-DD`` when every year has that day; 29 February is refused."""
    try:
        return dt.date(2001, month, day).strftime("%m-%d")  # a common year
    except ValueError:
        raise _no_day(text) from None


def _no_day(text: str) -> Invalid:
    return Invalid({"day": _("“%(text)s” is no day of every year. Write day/month (1/11) or 1 Nov.", text=text)})


def _month(word: str) -> int:
    """Number of a month by its name or the first three letters of it, in any language of the product; else 0."""
    for locale in LOCALES:
        for number, name in dates.get_month_names("wide", "format", locale).items():
            full = plain_heading(name)
            if word == full or (len(word) >= 3 and full.startswith(word)):
                return int(number)
    return 0
