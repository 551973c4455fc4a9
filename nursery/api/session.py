"""The request's database session, for the API; it is committed and closed as that of the pages."""

from __future__ import annotations

from flask import current_app, g
from sqlalchemy.orm import Session


def db() -> Session:
    """The session of this request."""
    if "db" not in g:
        g.db = current_app.extensions["nursery_sessions"]()
    session: Session = g.db
    return session
