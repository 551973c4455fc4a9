"""Days that come every year, kept as ``MM-DD``: how they read, and what they may be."""

from __future__ import annotations

import datetime as dt

from babel.support import LazyProxy

from nursery.i18n import format_date

#: A year without 29 February, which most years lack.
_COMMON_YEAR = 2001


def day_text(month_day: str) -> str:
    """``11-01`` as people read it: “1 Nov”."""
    return format_date(dt.date.fromisoformat(f"{_COMMON_YEAR}-{month_day}"), "d MMM")


#: Every such day and its text in the reader's language, for lists.
DAY_TEXTS: dict[str, LazyProxy] = {
    day: LazyProxy(day_text, day, enable_cache=False)
    for day in (
        (dt.date(_COMMON_YEAR, 1, 1) + dt.timedelta(days=number)).strftime("%m-%d") for number in range(365)
    )
}
