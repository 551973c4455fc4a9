"""Pictures drawn here: sent with a mark, so that a browser that has one need not be sent it again."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

from flask import Response, request

from nursery import __version__
from nursery.i18n import current_locale

#: A picture carries its styles inside and nothing else; the pages' own policy would leave it bare.
PICTURE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"


def send_picture(draw: Callable[[], bytes], *seen: object) -> Response:
    """An SVG, drawn unless the browser has it already; equal ``seen`` mean equal pictures."""
    response = Response(content_type="image/svg+xml; charset=utf-8")
    response.headers["Content-Security-Policy"] = PICTURE_POLICY
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["Vary"] = "Cookie, Accept-Language"
    mark = hashlib.sha256(repr((current_locale(), __version__, seen)).encode()).hexdigest()[:32]
    response.set_etag(mark)
    if not request.if_none_match.contains_weak(mark):
        response.set_data(draw())
    response.make_conditional(request)
    return response
