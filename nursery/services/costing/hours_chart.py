"""The picture of hours by week, in the reader's language."""

from __future__ import annotations

from nursery.documents.hours_chart import HoursBar, HoursWords, hours_svg
from nursery.i18n import gettext as _
from nursery.services.costing.hours import HoursByWeek


def hours_chart(hours: HoursByWeek, *, narrow: bool) -> bytes:
    """The weeks as an SVG."""
    bars = [
        HoursBar(
            week.week.monday,
            by_paid=min(week.needed, week.paid),
            by_volunteers=week.given,
            over=week.over,
            paid=week.paid,
            volunteers=week.volunteers,
        )
        for week in hours.weeks
    ]
    words = HoursWords(
        title=_("Hours by week"),
        hours=_("Hours"),
        by_paid=_("Work for paid people"),
        by_volunteers=_("Work for volunteers"),
        over=_("More than people have"),
        paid=_("Paid people have"),
        volunteers=_("With volunteers"),
    )
    return hours_svg(bars, words=words, narrow=narrow)
