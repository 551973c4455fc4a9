"""Which database a command works on, and opening it."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nursery.cli.group import Trouble
from nursery.config import Settings, read_settings
from nursery.i18n import gettext as _

if TYPE_CHECKING:
    from sqlalchemy import Engine
    from sqlalchemy.orm import Session


def day() -> dt.date:
    """Today, by the clock of this machine."""
    return dt.datetime.now().astimezone().date()


def demo_settings() -> Settings:
    """Settings of the demo: what was named, else a file beside the nursery's own, and its coordinator's name.

    Where others would find a nursery does not count: a demo asks for no password and answers to this machine only.
    """
    from nursery.services.demo import coordinator  # noqa: PLC0415 -- slow import

    settings = read_settings()
    url = os.environ.get("NURSERY_DATABASE_URL") or f"sqlite:///{_demo_file(settings)}"
    person = os.environ.get("NURSERY_PERSON") or coordinator()
    return replace(settings, database_url=url, person=person, demo=True, address="", proxies=0)


def current_settings() -> Settings:
    """Settings of the own nursery; where there is none yet but a demo season, those of the demo."""
    settings = read_settings()
    own = settings.data_dir / "nursery.sqlite"
    if not os.environ.get("NURSERY_DATABASE_URL") and not own.exists() and _demo_file(settings).exists():
        click.echo(_("There is no nursery of your own yet; this is the demo season."), err=True)
        return demo_settings()
    return settings


def _demo_file(settings: Settings) -> Path:
    return settings.data_dir / "demo.sqlite"


def place_of(database: Engine | Session) -> str:
    """Where the data are, as a person looks for them: a file, or an address without its password."""
    from sqlalchemy.orm import Session  # noqa: PLC0415 -- slow import

    engine = database.get_bind().engine if isinstance(database, Session) else database
    url = engine.url
    return url.database or ":memory:" if url.get_backend_name() == "sqlite" else url.render_as_string()


@contextmanager
def found(settings: Settings) -> Iterator[Engine]:
    """The engine of an existing database, of whatever version."""
    from sqlalchemy import make_url  # noqa: PLC0415 -- slow import

    from nursery.database import make_engine  # noqa: PLC0415 -- slow import

    url = make_url(settings.database_url)
    if url.get_backend_name() == "sqlite" and not Path(url.database or "").is_file():
        raise Trouble(
            _(
                "There is no database at %(place)s yet. Start with “nursery serve” for your own nursery, or with"
                " “nursery demo”.",
                place=url.database,
            )
        )
    engine = make_engine(settings.database_url)
    try:
        yield engine
    finally:
        engine.dispose()


@contextmanager
def opened(settings: Settings) -> Iterator[Engine]:
    """The engine of an existing database whose schema is current."""
    with found(settings) as engine:
        refuse_older(engine)
        _refuse_unknown(engine)
        yield engine


def refuse_older(engine: Engine) -> None:
    """Say what to do with a database that has to be upgraded first."""
    from nursery.database import Standing, standing_of  # noqa: PLC0415 -- slow import

    if standing_of(engine) in {Standing.OLDER, Standing.NONE}:
        raise Trouble(_("The database was made by an earlier version. Run “nursery upgrade”, then try again."))


def _refuse_unknown(engine: Engine) -> None:
    from nursery.database import Standing, standing_of  # noqa: PLC0415 -- slow import

    if standing_of(engine) is Standing.UNKNOWN:
        raise Trouble(
            _(
                "The database was made by a later version of this planner, or was changed by something else."
                " Install the later version, or see what “nursery check” says. Nothing was changed."
            )
        )


@contextmanager
def transaction(settings: Settings) -> Iterator[Session]:
    """A session on an existing database, committed at the end of the block."""
    from sqlalchemy.orm import Session  # noqa: PLC0415 -- slow import

    with opened(settings) as engine, Session(engine, expire_on_commit=False) as session, session.begin():
        yield session


@contextmanager
def prepared(settings: Settings) -> Iterator[Session]:
    """A session on a database brought up to date first, made when missing."""
    from sqlalchemy.orm import Session  # noqa: PLC0415 -- slow import

    from nursery.database import is_current, make_engine, upgrade  # noqa: PLC0415 -- slow import
    from nursery.services.setup import set_up  # noqa: PLC0415 -- slow import

    engine = make_engine(settings.database_url)
    try:
        _refuse_unknown(engine)
        if not is_current(engine):
            upgrade(engine)
        with Session(engine, expire_on_commit=False) as session, session.begin():
            set_up(session, settings.person)
            yield session
    finally:
        engine.dispose()
