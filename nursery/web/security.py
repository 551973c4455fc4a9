"""What guards every request and answer: the names we answer to, forms with their token, headers.

Nothing inline, nothing from elsewhere, nothing kept by browsers that somebody had to sign in for.
"""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import urlsplit

from flask import Flask, Response, current_app, request
from flask_wtf.csrf import CSRFProtect
from werkzeug.exceptions import BadRequest

from nursery.config import Settings
from nursery.i18n import gettext as _

csrf = CSRFProtect()

#: Names of this very machine.
OWN_NAMES = ("localhost", "127.0.0.1", "[::1]")
HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": (
        "accelerometer=(), camera=(), display-capture=(), geolocation=(), gyroscope=(), microphone=(), midi=(), "
        "payment=(), usb=()"
    ),
    # Pages name people, places and seed: no browser keeps them after their reader went. Answers that may be kept
    # (pictures, styles, calendars) say so themselves.
    "Cache-Control": "no-store",
}
#: Two years, as browsers ask for before they remember a name without being asked.
HTTPS_ONLY = "max-age=63072000; includeSubDomains"


def register(app: Flask) -> None:
    """Guard every form and set the headers on every answer."""
    app.before_request(refuse_strange_names)
    csrf.init_app(app)

    @app.after_request
    def add_headers(response: Response) -> Response:
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if current_app.config["NURSERY"].is_https:
            response.headers.setdefault("Strict-Transport-Security", HTTPS_ONLY)
        return response


def refuse_strange_names() -> None:
    """Answer to our own names only.

    Else a page from elsewhere could reach us under a name that it had turned to us, and addresses in our answers
    could be somebody else's.
    """
    name = re.sub(r":\d+$", "", request.host.lower())
    if name not in names(current_app.config["NURSERY"]):
        raise BadRequest(
            _("The planner is not known by the name “%(name)s”. Whoever looks after it sets NURSERY_ADDRESS to the"
              " address by which people find it.", name=name[:80])
        )  # fmt: skip


def cookie_guards() -> dict[str, Any]:
    """What every cookie of ours is set with: no script reads it, no other site's form carries it."""
    return {"httponly": True, "samesite": "Lax", "secure": current_app.config["NURSERY"].is_https}


def names(settings: Settings) -> list[str]:
    """The names we answer to: this machine's own, and the one that was given."""
    given = urlsplit(settings.address).hostname or ""
    return [*OWN_NAMES, *([f"[{given}]" if ":" in given else given] if given else [])]
