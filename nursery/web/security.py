"""Headers and CSRF: nothing inline, nothing from elsewhere, no form without its token."""

from __future__ import annotations

from flask import Flask, Response
from flask_wtf.csrf import CSRFProtect

csrf = CSRFProtect()

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(self)",
}


def register(app: Flask) -> None:
    """Guard every form and set the headers on every answer."""
    csrf.init_app(app)

    @app.after_request
    def add_headers(response: Response) -> Response:
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        return response
