"""An application on a demo season that may be spoilt, and is made good again every so often."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from nursery.app import configure
from nursery.config import Settings
from nursery.database import make_engine
from nursery.models import (
    Account,
    Batch,
    Bench,
    Container,
    Lot,
    Nursery,
    Person,
    Population,
    SignIn,
    Site,
    Target,
    Trip,
)
from nursery.models.accounts import Scope
from nursery.services.accounts.api_tokens import make_token
from nursery.services.accounts.tokens import token_hash
from nursery.web.access import COOKIE
from tests.applications import lent
from tests.conftest import TODAY
from tests.databases import Kept
from tests.signing_in import TOKEN, write_sign_in

#: Kinds of record of which the last is put aside, so that forms meet archived ones.
MODELS: tuple[Any, ...] = (Batch, Bench, Container, Lot, Nursery, Person, Population, Site, Target, Trip)


@dataclass
class World:
    """The application, a browser that has its token, and what records are called."""

    app: Flask
    fresh: Kept
    folder: Path
    client: FlaskClient
    token: str = ""
    #: Ids and codes, those of archived records among them.
    names: tuple[str, ...] = ()
    #: Secret of a token of the API that may write.
    secret: str = ""

    @property
    def url(self) -> str:
        """Of the database."""
        settings: Settings = self.app.config["NURSERY"]
        return settings.database_url

    def make_good(self) -> None:
        """The season as it was."""
        self.app.extensions["nursery_sessions"].kw["bind"].dispose()
        for rest in self.folder.glob("spoilt.*"):
            rest.unlink()
        url = self.fresh.copy(self.folder, "spoilt")
        configure(self.app, replace(self.app.config["NURSERY"], database_url=url), today=TODAY, testing=True)
        self.client.set_cookie(COOKIE, TOKEN)
        with self.client.get("/settings") as answer:
            found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', answer.get_data(as_text=True))
        assert found, "the page of settings has no form"
        self.token = found[1]


@contextmanager
def world(season: Kept, folder: Path) -> Iterator[World]:
    """A world on a copy of a demo season."""
    url = season.copy(folder, "prepared")
    names, secret = _prepare(url)
    fresh = Kept(season.store, f"{folder.parent.name}-{folder.name}")
    fresh.store.keep(url, fresh.name)
    settings = Settings(database_url=url, data_dir=folder, secret_key="for tests only", person="Ana")
    with lent(settings, today=TODAY) as app:
        made = World(app, fresh, folder, app.test_client(), names=names, secret=secret)
        made.make_good()
        yield made


def _prepare(url: str) -> tuple[tuple[str, ...], str]:
    """Somebody is signed in and has a token, and the last record of each kind is put aside; their names."""
    engine = make_engine(url)
    names = {"1", "2", "3", "999999"}
    with Session(engine) as session, session.begin():
        known = select(Account).join(SignIn).where(SignIn.token_hash == token_hash(TOKEN))
        account = session.scalar(known) or write_sign_in(session, name="Rui Teste", email="rui@tests.example")
        _token, secret = make_token(
            session, account.name, account=account, name="trials", scope=Scope.WRITE, ends_on=TODAY, today=TODAY
        )
        for model in MODELS:
            last = session.scalar(select(func.max(model.id)))
            session.execute(update(model).where(model.id == last).values(archived_at=func.now()))
            names.add(str(last))
            if hasattr(model, "code"):
                names |= set(session.scalars(select(model.code).order_by(-model.id).limit(3)))
    engine.dispose()
    return tuple(sorted(names)), secret
