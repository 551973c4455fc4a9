"""Error pages: what happened, in plain words, and what to do next."""

from __future__ import annotations

from http import HTTPStatus

from flask import Flask, current_app, g, jsonify, render_template, request
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException

from nursery.errors import Conflict, Forbidden, Invalid, NotFound, NurseryError
from nursery.i18n import gettext as _
from nursery.web import access
from nursery.web.kept import kept_form
from nursery.web.paths import place

#: Refusals whose words are the page's message.
TOLD: dict[type[NurseryError], int] = {NotFound: 404, Conflict: 409}
#: What no page of ours asks for, and no mistyped address either.
ODD = {400, 405, 413, 415}
PAGES = {400, 403, 404, 409, 413, 422, 500}


def register(app: Flask) -> None:
    """One handler per kind of error; API paths answer in JSON. For the database's troubles see `outage`."""

    for kind, status in TOLD.items():
        app.register_error_handler(kind, lambda error, status=status: answer(status, str(error)))

    @app.errorhandler(Invalid)
    def invalid(error: Invalid) -> ResponseReturnValue:
        if request.path.startswith("/api/"):
            return jsonify(errors=error.errors), 422
        return answer(422, str(error))

    app.register_error_handler(Forbidden, forbidden)
    app.register_error_handler(CSRFError, late)

    @app.errorhandler(HTTPException)
    def http_error(error: HTTPException) -> ResponseReturnValue:
        if error.code and error.code < 400:
            return error
        if error.code in ODD:
            current_app.logger.warning("answered with %s: %s", error.code, place())
        # The library's own sentence says no more than the page does, and only in English.
        own = error.description if error.description != type(error).description else None
        return answer(error.code or 500, own or "")

    @app.errorhandler(Exception)
    def unforeseen(error: Exception) -> ResponseReturnValue:
        if current_app.testing:
            raise error
        current_app.logger.error("unforeseen error at %s", place(), exc_info=error)
        session = g.get("db")
        if session is not None:
            session.rollback()
        return answer(500, "")


def forbidden(error: Forbidden) -> ResponseReturnValue:
    """No right to it; the log says who tried."""
    who = access.acting()
    current_app.logger.warning("refused to account %s: %s", who and who.account_id, place())
    return answer(403, str(error))


def late(error: CSRFError) -> ResponseReturnValue:
    """A form whose token is not the one of this session: sent again, after signing in where that has ended."""
    current_app.logger.warning("a form without its token at %s: %s", place(), error.description)
    if request.path.startswith("/api/"):
        return answer(403, _("This form was opened too long ago, or in another browser."))
    endpoint = request.endpoint or ""
    comes_in = endpoint in {"sign_in.page", "sign_in.code"}
    if access.recognise() is None and (comes_in or not access.may(endpoint)):
        return access.ask_to_sign_in()
    return render_template("errors/stale.html", kept=kept_form()), 403


def answer(status: int, message: str) -> ResponseReturnValue:
    """The page (or JSON) for a status."""
    if request.path.startswith("/api/"):
        return jsonify(errors={"request": message or HTTPStatus(status).phrase}), status
    page = status if status in PAGES else (404 if status < 500 else 500)
    kept = kept_form() if page not in {400, 413} else None
    return render_template(f"errors/{page}.html", message=message, kept=kept), status
