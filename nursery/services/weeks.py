"""Weeks of the calendar, counted as ISO 8601 counts them: Monday first, week 1 holds the first Thursday."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from nursery.i18n import format_span
from nursery.i18n import gettext as _

_NAME = re.compile(r"(\d{4})-W(\d{2})")
#: Years that an address may ask for; dates of plans stay well inside.
_YEARS = range(1990, 2201)


@dataclass(frozen=True, slots=True, order=True)
class Week:
    """One week, known by its Monday."""

    monday: dt.date

    @classmethod
    def of(cls, day: dt.date) -> Week:
        """The week that holds ``day``."""
        return cls(day - dt.timedelta(days=day.weekday()))

    @classmethod
    def parse(cls, text: str) -> Week | None:
        """``2026-W48`` as a week; None for anything that names no week."""
        found = _NAME.fullmatch(text)
        if found is None or int(found[1]) not in _YEARS:
            return None
        try:
            return cls(dt.date.fromisocalendar(int(found[1]), int(found[2]), 1))
        except ValueError:
            return None

    @property
    def sunday(self) -> dt.date:
        """Its last day."""
        return self.monday + dt.timedelta(days=6)

    @property
    def number(self) -> int:
        """1 to 53."""
        return self.monday.isocalendar().week

    @property
    def name(self) -> str:
        """``2026-W48``, for addresses."""
        year, week, _day = self.monday.isocalendar()
        return f"{year}-W{week:02d}"

    @property
    def label(self) -> str:
        """“Week 48” in the reader's language."""
        return _("Week %(number)s", number=self.number)

    @property
    def span(self) -> str:
        """Its days in the reader's language."""
        return format_span(self.monday, self.sunday)

    def plus(self, weeks: int) -> Week:
        """The week that lies so many weeks later (earlier when negative)."""
        return Week(self.monday + dt.timedelta(weeks=weeks))

    def holds(self, day: dt.date) -> bool:
        """Whether ``day`` lies in it."""
        return self.monday <= day <= self.sunday
