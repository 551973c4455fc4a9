"""Calendar feeds: all-day events as iCalendar (RFC 5545), which calendars on phones and desks subscribe to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from nursery.documents.heavy import icalendar

ICS_TYPE = "text/calendar; charset=utf-8"
#: How often calendars are asked to look again.
REFRESH = dt.timedelta(hours=6)
_PRODUCT = "-//Native plant nursery planner//Work//EN"


@dataclass(frozen=True, slots=True)
class AllDay:
    """An event of one day or more; ``uid`` stays, ``sequence`` grows with each change."""

    uid: str
    sequence: int
    first: dt.date
    last: dt.date
    summary: str
    description: str
    location: str
    category: str
    url: str
    is_cancelled: bool


def calendar_feed(name: str, events: Iterable[AllDay], *, now: dt.datetime) -> bytes:
    """The feed; long lines are folded. ``now`` (UTC) stamps every event."""
    feed = icalendar.Calendar()
    feed.add("prodid", _PRODUCT)
    feed.add("version", "2.0")
    feed.add("calscale", "GREGORIAN")
    feed.add("method", "PUBLISH")
    feed.add("x-wr-calname", name)
    refresh = icalendar.vDuration(REFRESH)
    refresh.params["VALUE"] = "DURATION"
    feed.add("refresh-interval", refresh)
    feed.add("x-published-ttl", icalendar.vDuration(REFRESH))
    for event in events:
        feed.add_component(_event(event, now))
    return bytes(feed.to_ical())


def _event(told: AllDay, now: dt.datetime) -> icalendar.Event:
    event = icalendar.Event()
    event.add("uid", told.uid)
    event.add("sequence", told.sequence)
    event.add("dtstamp", now)
    event.add("dtstart", icalendar.vDDDTypes(told.first))
    # The end is the first day on which it is over.
    event.add("dtend", icalendar.vDDDTypes(told.last + dt.timedelta(days=1)))
    event.add("summary", told.summary)
    for name, text in (("description", told.description), ("location", told.location)):
        if text:
            event.add(name, icalendar.vText(text))
    event.add("categories", [told.category])
    event.add("url", told.url)
    event.add("status", "CANCELLED" if told.is_cancelled else "CONFIRMED")
    event.add("transp", "TRANSPARENT")  # work of the day does not block an hour
    return event
