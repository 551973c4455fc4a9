"""The answer while the database is in trouble: what happened, who mends it, and what was typed, to send again."""

from __future__ import annotations

from flask import Flask, current_app, g, jsonify, make_response, render_template, request
from flask.typing import ResponseReturnValue
from markupsafe import escape
from sqlalchemy import exc
from werkzeug.exceptions import InternalServerError

from nursery.faults import Fault, fault_of
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.web import errors
from nursery.web.kept import kept_form
from nursery.web.paths import place

#: Seconds after which a program may ask again.
AGAIN_S = {Fault.BUSY: 5, Fault.AWAY: 30, Fault.FULL: 300, Fault.READ_ONLY: 300, Fault.DAMAGED: 3600}
WORDS = {
    Fault.BUSY: _l("Somebody else was saving for so long that your request could not be served."),
    Fault.FULL: _l("The disk that keeps the records is full, so nothing can be saved."),
    Fault.READ_ONLY: _l("The database may only be read: the planner has no right to write to it."),
    Fault.AWAY: _l("The database does not answer."),
    Fault.DAMAGED: _l("The database is damaged, so its records cannot be relied on."),
}
REMEDIES = {
    Fault.BUSY: _l("Try again in a moment."),
    Fault.FULL: _l("Whoever looks after this planner makes room on that disk. Then try again."),
    Fault.READ_ONLY: _l(
        "Whoever looks after this planner gives it the right to write to the database and its folder. Then try"
        " again."
    ),
    Fault.AWAY: _l("Try again in a minute. If this goes on, tell the person who looks after this planner."),
    Fault.DAMAGED: _l(
        "Tell the person who looks after this planner at once: “nursery check” says what is wrong, “nursery"
        " restore” brings a backup back. Write nothing until then."
    ),
}
UNWRITTEN = _l("Nothing of your request was written; what was saved before is safe.")
UNKNOWN = _l("It was lost at the last moment: look first whether your change is there, before you send it again.")


def register(app: Flask) -> None:
    """Handlers for what a database raises, while a request is served and while its answer is finished."""

    @app.errorhandler(exc.DBAPIError)
    @app.errorhandler(exc.TimeoutError)
    def serving(error: Exception) -> ResponseReturnValue:
        fault = fault_of(error)
        if fault is None:
            raise error  # a mistake of ours, for the page of those
        session = g.get("db")  # none yet when the database was not even reached
        if session is not None:
            session.rollback()
        return answer(fault, error)

    @app.errorhandler(InternalServerError)
    def finishing(error: InternalServerError) -> ResponseReturnValue:
        cause = error.original_exception
        fault = fault_of(cause)
        if cause is not None and fault is not None:
            return answer(fault, cause)
        return errors.answer(500, "")


def busy(error: exc.DBAPIError) -> str:
    """The words for a form when somebody else was saving; any other trouble goes on to its own page."""
    if not isinstance(error, exc.IntegrityError) and fault_of(error) is not Fault.BUSY:
        raise error
    return _("Somebody else was saving at this very moment. Nothing is lost: save again.")


def answer(fault: Fault, error: BaseException) -> ResponseReturnValue:
    """The page (or JSON), with status 503."""
    current_app.logger.warning("the database is in trouble (%s) at %s: %s", fault.value, place(), error)
    is_open = _is_open(fault, error)
    happened = [str(WORDS[fault])]
    if request.method not in {"GET", "HEAD", "OPTIONS"}:
        happened.append(str(UNKNOWN if is_open else UNWRITTEN))
    happened.append(str(REMEDIES[fault]))
    if request.path.startswith("/api/"):
        response = jsonify(errors={"request": " ".join(happened)})
    else:
        response = make_response(_page(fault, happened, is_open=is_open))
    response.status_code = 503
    response.headers["Retry-After"] = str(AGAIN_S[fault])
    return response


def _is_open(fault: Fault, error: BaseException) -> bool:
    """Whether nobody knows if it was written: only where the connection broke off at COMMIT, the last word.

    The error of any statement before it carries that statement.
    """
    return fault is Fault.AWAY and bool(g.get("is_committing")) and getattr(error, "statement", None) is None


def _page(fault: Fault, happened: list[str], *, is_open: bool) -> str:
    try:
        return render_template(
            "errors/503.html", fault=fault.value, happened=happened, kept=kept_form(), is_open=is_open
        )
    except exc.SQLAlchemyError:  # the frame of the page wanted the database too
        words = escape(" ".join(happened))
        return f"<!doctype html><title>503</title><h1>{escape(_('Error 503'))}</h1><p>{words}</p>"
