"""Who is at the other end of a request, and whether they may have what it asks for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from flask import Flask, current_app, g, redirect, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session
from werkzeug.exceptions import HTTPException

from nursery.database import writing
from nursery.errors import Forbidden
from nursery.i18n import gettext as _
from nursery.models import Base
from nursery.services.accounts import sign_in
from nursery.services.accounts.api_tokens import find_token
from nursery.services.accounts.demo import demo_account
from nursery.services.accounts.rights import RIGHT_NAMES, ROLE_NAMES, Right, roles_with
from nursery.services.acting import Acting, act_as, elsewhere, must_reach
from nursery.services.belonging import COMMON
from nursery.web import objects, rights
from nursery.web.once import once
from nursery.web.session import READING, db, now, today

COOKIE = "nursery_sign_in"
HTTPS_COOKIE = f"__Host-{COOKIE}"


def register(app: Flask) -> None:
    """Ask of every request who sends it; templates may ask what that person may do."""
    app.before_request(check)
    app.jinja_env.globals["reachable"] = reachable
    app.jinja_env.filters["role_name"] = lambda role: str(ROLE_NAMES[role])

    @app.context_processor
    def who() -> dict[str, object]:
        return {"signed_in": acting(), "may": may}


def cookie_name() -> str:
    """Over HTTPS one that no other name and no plain connection can set."""
    return HTTPS_COOKIE if current_app.config["NURSERY"].is_https else COOKIE


def acting() -> Acting | None:
    """Who sends this request; None when nobody is signed in."""
    found: Acting | None = g.get("acting")
    return found


def check() -> ResponseReturnValue | None:
    """Let the request pass, send the person to sign in, or refuse."""
    if request.endpoint is None or request.endpoint == "static":
        return None  # unknown addresses are not found, whoever asks
    if recognise() is not None:
        act_as(db(), g.acting)
    try:
        needed = rights.needed(request.endpoint)
        asked = list(objects.asked_for(request.endpoint, request.view_args or {}, request.method))
    except rights.Unruled as unruled:
        raise Forbidden(_("Nobody has said yet who may see this page.")) from unruled
    if not needed:
        return None
    if g.acting is None:
        return ask_to_sign_in()
    if not needed & g.acting.rights:
        raise Forbidden(_sentence(needed))
    if asked:
        with _reading() as session:
            for row in _rows(session, asked):
                must_reach(session, row)
    return None


def recognise() -> Acting | None:
    """Find out who sends this request."""
    g.is_unasked = True  # until the database has told
    g.acting = _find()
    g.is_unasked = False
    return acting()


def may(endpoint: str) -> bool:
    """Whether the person may open this page, or send this form."""
    needed = rights.needed(endpoint)
    found = acting()
    return not needed or (found is not None and bool(needed & found.rights))


def reachable(address: str, method: str = "GET") -> bool:
    """The same for an address of ours, so that no page offers what would be refused; of others', always.

    While nobody can be asked who it is, everything is offered: the page that says so must lead on.
    """
    path = address.partition("?")[0].partition("#")[0]
    if not path.startswith("/"):
        return True
    within = path.removeprefix(request.script_root)
    way = once(("way", method, within), lambda: _way(within, method))
    if way is None:
        return True
    endpoint, values = way
    if not may(endpoint):
        return False
    who = acting()
    if who is None or who.nursery_id is None:
        return True
    with _reading() as session:
        return not any(
            elsewhere(session, row) for row in _rows(session, objects.asked_for(endpoint, values, method))
        )


def _way(path: str, method: str) -> tuple[str, Mapping[str, Any]] | None:
    """Where an address of ours leads, with the parts of the address; None where there is nothing."""
    try:
        endpoint, values = once("addresses", lambda: current_app.url_map.bind("")).match(path, method)
    except HTTPException:
        return None
    return str(endpoint), values


@contextmanager
def _reading() -> Iterator[Session]:
    """A session that waits for nobody, as in `_find`."""
    if request.method in READING:
        yield db()
        return
    with current_app.extensions["nursery_sessions"]() as session:
        if g.acting is not None:
            act_as(session, g.acting)
        yield session


def _rows(session: Session, asked: Iterable[tuple[type[Base], int]]) -> Iterator[Base]:
    """Records that are some nursery's; what is not there is not found by the page."""
    for model, record_id in asked:
        if model not in COMMON and (row := session.get(model, record_id)) is not None:
            yield row


def _find() -> Acting | None:
    """Who sends the request.

    What only reads is asked in its own session. A form's waits its turn to write, and its view tells what that
    means: there it is read in another.
    """
    if request.method in READING:
        return _read(db())
    with current_app.extensions["nursery_sessions"]() as session:
        return _read(session)


def _read(session: Session) -> Acting | None:
    kind, _space, secret = request.headers.get("Authorization", "").partition(" ")
    is_bearer = kind.lower() == "bearer" and request.path.startswith("/api/")
    if is_bearer:
        by_token = find_token(session, secret.strip(), today())
        g.api_token = by_token and by_token.account_id  # such a call needs no form's token
        return by_token
    token = request.cookies.get(cookie_name(), "")
    found = sign_in.find(session, token, now()) if token else None
    if found is None:
        return demo_account(session) if current_app.config["NURSERY"].demo else None
    who, row = found
    g.sign_in_id = row.id
    if now() - row.seen_at > sign_in.NOTED_EVERY:
        session.rollback()  # who writes after reading must not have read before somebody else wrote
        _note_use(row.id)
    return who


def _note_use(sign_in_id: int) -> None:
    """In a transaction of its own, so that looking at a page needs none that writes; not at all when busy."""
    try:
        with writing(current_app.extensions["nursery_sessions"]) as session:
            sign_in.note_use(session, sign_in_id, now())
            session.commit()
    except OperationalError:
        current_app.logger.info("a sign-in's use was not noted: the database was busy")


def ask_to_sign_in() -> ResponseReturnValue:
    """Reading goes on after signing in; what was typed comes along, to be sent then."""
    if request.path.startswith("/api/"):
        from nursery.web.errors import answer  # noqa: PLC0415 -- errors draws pages, which ask for rights

        return answer(401, _("Sign in, or send a token."))
    if request.method not in {"GET", "HEAD"}:
        from nursery.web.sign_in.pages import ask_again  # noqa: PLC0415 -- it lets in by what stands here

        return ask_again()
    asked = request.full_path.rstrip("?")
    return redirect(url_for("sign_in.page", next=None if asked == "/" else asked), 303)


def _sentence(needed: Iterable[Right]) -> str:
    """What would be needed, and who has it."""
    right = min(needed, key=list(Right).index)
    roles = dict.fromkeys(role for one in needed for role in roles_with(one))
    return _(
        "Your account may not %(what)s. Who may: %(roles)s.",
        what=str(RIGHT_NAMES[right]),
        roles=", ".join(str(ROLE_NAMES[role]) for role in roles),
    )
