"""Safe ways back: only paths of this very site."""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import request, url_for


def back() -> str:
    """The page the person came from if it is ours, else the season page."""
    came_from = urlsplit(request.form.get("next") or request.referrer or "")
    own = not came_from.netloc or came_from.netloc == request.host
    path = came_from.path
    if own and path.startswith("/") and not path.startswith(("//", "/\\")):
        return path + ("?" + came_from.query if came_from.query else "")
    return url_for("season.home")
