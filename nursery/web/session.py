"""One database session a request, committed once: after a good answer, and only then."""

from __future__ import annotations

import datetime as dt

from flask import Flask, Response, current_app, g, request
from sqlalchemy.orm import Session

from nursery.database import writing
from nursery.services.acting import Acting

#: Methods of requests that change nothing.
READING = frozenset({"GET", "HEAD", "OPTIONS"})


def db() -> Session:
    """The request's session."""
    if "db" not in g:
        sessions = current_app.extensions["nursery_sessions"]
        g.db = sessions() if request.method in READING else writing(sessions)
    session: Session = g.db
    return session


def me() -> Acting:
    """Who sends this request."""
    acting: Acting = g.acting
    return acting


def actor() -> str:
    """Name of the person acting, as histories give it."""
    return me().name


def today() -> dt.date:
    """The request's day, read once."""
    if "today" not in g:
        g.today = current_app.config["NURSERY_TODAY"] or dt.datetime.now().astimezone().date()
    day: dt.date = g.today
    return day


def now() -> dt.datetime:
    """The request's moment: the time of day where this machine stands, on the request's day."""
    if "now" not in g:
        clock = dt.datetime.now().astimezone()
        # Another day may have another offset from UTC: the naive moment finds it.
        g.now = dt.datetime.combine(today(), clock.time()).astimezone()
    moment: dt.datetime = g.now
    return moment


def register(app: Flask) -> None:
    """Commit below 400, roll back otherwise; close always."""

    @app.after_request
    def finish(response: Response) -> Response:
        session: Session | None = g.get("db")
        if session is not None:
            if response.status_code < 400:
                g.is_committing = True
                session.commit()
            else:
                session.rollback()
        return response

    @app.teardown_request
    def close(_error: BaseException | None) -> None:
        session: Session | None = g.pop("db", None)
        if session is not None:
            session.close()
