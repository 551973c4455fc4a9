"""Which language a request is answered in, and the switch for it."""

from __future__ import annotations

from flask import Blueprint, current_app, redirect, request
from werkzeug import Response

from nursery.i18n import LOCALES, set_locale
from nursery.web.paths import back
from nursery.web.security import cookie_guards

bp = Blueprint("language", __name__)
COOKIE = "language"


def choose() -> None:
    """A kept choice first, then the browser's wish, then the nursery's own language."""
    kept = request.cookies.get(COOKIE)
    wished = request.accept_languages.best_match(LOCALES)
    set_locale(kept if kept in LOCALES else wished or current_app.config["NURSERY"].locale)


@bp.post("/language")
def switch() -> Response:
    """Keep the chosen language in a cookie and go back."""
    answer = redirect(back(), 303)
    chosen = request.form.get("language", "")
    if chosen in LOCALES:
        answer.set_cookie(COOKIE, chosen, max_age=365 * 86400, **cookie_guards())
    return answer
