"""The application factory: settings, database, security, pages, API."""

from __future__ import annotations

import datetime as dt
from collections.abc import MutableMapping
from typing import Any
from urllib.parse import urlsplit

from flask import Flask
from flask.templating import Environment
from werkzeug.middleware.proxy_fix import ProxyFix

from nursery import resources
from nursery.config import Settings, read_settings
from nursery.database import make_engine, make_sessions
from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.starting import without_collecting

#: Characters of the secret that signs cookies, at least.
SECRET_LENGTH = 32


class _Templates(Environment):
    """Templates whose globals are one dictionary: of a chain, every name is compared at each import of a macro."""

    def make_globals(self, d: MutableMapping[str, Any] | None) -> MutableMapping[str, Any]:
        """The globals of a template as they are when it is first used; all are there before the first request."""
        return {**self.globals, **(d or {})}


class _Application(Flask):
    jinja_environment = _Templates


def create_app(settings: Settings | None = None, *, today: dt.date | None = None, testing: bool = False) -> Flask:
    """Build the web application.

    ``today`` fixes the day for tests and demonstrations; otherwise each request reads the clock once.
    """
    from nursery import api, web  # noqa: PLC0415 -- services import numpy and SQLAlchemy

    settings = settings or read_settings()
    app = _Application("nursery", template_folder=str(resources.templates()))
    configure(app, settings, today=today, testing=testing)
    if settings.proxies:
        count = settings.proxies
        fixed = ProxyFix(app.wsgi_app, x_for=count, x_proto=count, x_host=count)
        app.wsgi_app = fixed  # type: ignore[method-assign]  # how Flask's own pages do it
    web.register(app)
    api.register(app)
    return app


@without_collecting()
def start(settings: Settings | None = None) -> Flask:
    """The application as it is served to people: it does not start in a state in which it would be open to all.

    Raises
    ------
    Invalid
        When the secret that signs cookies can be guessed, nobody could sign in, or the pages' address is none.
    """
    from nursery.services.accounts.people import has_accounts  # noqa: PLC0415 -- numpy and SQLAlchemy

    settings = settings or read_settings()
    if len(settings.secret_key) < SECRET_LENGTH or len(set(settings.secret_key)) < SECRET_LENGTH // 4:
        raise Invalid(
            {"NURSERY_SECRET_KEY": _("NURSERY_SECRET_KEY can be guessed: it needs %(least)s random characters or"
                                     " more. Leave it out, and one is made and kept.", least=SECRET_LENGTH)}
        )  # fmt: skip
    parts = urlsplit(settings.address)
    if settings.address and (parts.scheme not in {"http", "https"} or not parts.hostname):
        raise Invalid(
            {
                "NURSERY_ADDRESS": _(
                    "NURSERY_ADDRESS is “%(address)s”, which is no address. Write it as in a browser: https://…",
                    address=settings.address,
                )
            }
        )
    app = create_app(settings)
    with app.extensions["nursery_sessions"]() as session:
        if not settings.demo and not has_accounts(session):
            raise Invalid(
                {"accounts": _("Nobody could sign in yet. Make the first account: nursery account add “Your name”"
                               " you@example.org")}
            )  # fmt: skip
    return app


def configure(app: Flask, settings: Settings, *, today: dt.date | None = None, testing: bool = False) -> None:
    """Give an application its settings and its database."""
    app.config.update(
        SECRET_KEY=settings.secret_key,
        TESTING=testing,
        MAX_CONTENT_LENGTH=32 * 1024 * 1024,
        # A long form field (a pasted table) is data of this size at most; files are streamed to disk by Werkzeug.
        MAX_FORM_MEMORY_SIZE=2 * 1024 * 1024,
        # A browser takes a cookie named so from this very name and over HTTPS only.
        SESSION_COOKIE_NAME="__Host-session" if settings.is_https else "session",
        SESSION_COOKIE_SECURE=settings.is_https,
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        WTF_CSRF_TIME_LIMIT=None,  # a form left open over lunch is still good; the session bounds it
        WTF_I18N_ENABLED=False,  # our own gettext serves the forms
        NURSERY=settings,
        NURSERY_TODAY=today,
    )
    app.extensions["nursery_sessions"] = make_sessions(make_engine(settings.database_url))
