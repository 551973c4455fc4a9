"""Who acts and on which day, for the API's writes; the pages have the same in their own session."""

from __future__ import annotations

import datetime as dt

from flask import current_app, g


def actor() -> str:
    """Name of the person acting, as histories give it."""
    return str(g.acting.name)


def today() -> dt.date:
    """The request's day, read once."""
    if "today" not in g:
        g.today = current_app.config["NURSERY_TODAY"] or dt.datetime.now().astimezone().date()
    day: dt.date = g.today
    return day
