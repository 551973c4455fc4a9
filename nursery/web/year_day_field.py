"""A day that comes every year, typed as people write it."""

from __future__ import annotations

from typing import Any

from nursery.i18n import gettext as _
from nursery.services.importing.seasons import parse_day
from nursery.services.year_days import day_text
from nursery.web.fields import TypedField


class YearDayField(TypedField):
    """Day and month; ``data`` is ``MM-DD``."""

    def parse(self, text: str) -> Any:
        """The day, from 1 Nov, 1/11 (day first) or 28-02, which can be read in one way only."""
        return parse_day(text)

    def write(self, value: Any) -> str:
        """Day and the month's name, which nobody can misread."""
        return day_text(value)

    @property
    def understood(self) -> str:
        """Told when only digits were typed."""
        if self.data is None or any(c.isalpha() for c in self.typed):
            return ""
        return _(
            "%(field)s: “%(typed)s” was understood as %(day)s.",
            field=self.label.text,
            typed=self.typed,
            day=self.write(self.data),
        )
