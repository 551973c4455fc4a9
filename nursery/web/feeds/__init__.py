"""Calendar feeds at private addresses: no login, since calendars cannot log in."""

from __future__ import annotations

import datetime as dt

from flask import Blueprint, Response

from nursery.documents.ical import ICS_TYPE
from nursery.services.work.feeds import work_feed
from nursery.web.links import whole_address
from nursery.web.session import db, today

bp = Blueprint("feeds", __name__)


@bp.get("/feeds/<token>.ics")
def feed(token: str) -> Response:
    """The tasks of a person, or of all; an address that nobody has is not found."""
    found = work_feed(
        db(), token=token, today=today(), now=dt.datetime.now(dt.UTC),
        address=lambda task_id: whole_address("work.detail", record_id=task_id),
    )  # fmt: skip
    response = Response(found, content_type=ICS_TYPE)
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["X-Robots-Tag"] = "noindex"
    response.headers["Content-Disposition"] = "inline; filename=work.ics"
    return response
