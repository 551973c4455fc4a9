"""Whoever tests a page is signed in, as people are: by a token in a cookie, known to the database."""

from __future__ import annotations

import datetime as dt
from typing import Any

from flask.testing import FlaskClient
from sqlalchemy.orm import Session

from nursery.models import Account, AccountRole, SignIn
from nursery.models.accounts import Role
from nursery.services.accounts.tokens import token_hash
from nursery.web.access import COOKIE

TOKEN = "the-token-of-whoever-tests"
#: By which addresses tests ask for pages; cookies belong to one.
HOSTS = ("localhost", "127.0.0.1", "nursery.example.org")
#: Tests have days of their own; a sign-in from the far future has ended on none of them.
FAR = dt.datetime(2190, 1, 1, tzinfo=dt.UTC)


def write_sign_in(
    session: Session,
    *roles: Role,
    name: str = "Ana Seabra",
    token: str = TOKEN,
    email: str = "ana@tests.example",
    nursery_id: int | None = None,
) -> Account:
    """An account of these roles (all of them when none is given) that is signed in with ``token``."""
    account = Account(name=name, email=email, nursery_id=nursery_id)
    account.roles = [AccountRole(role=role) for role in roles or Role]
    session.add(account)
    session.flush()
    session.add(
        SignIn(account_id=account.id, token_hash=token_hash(token), began_at=FAR, seen_at=FAR, ends_at=FAR)
    )
    return account


class SignedIn(FlaskClient):
    """A client that carries the cookie of `write_sign_in`."""

    def __init__(self, *given: Any, **options: Any) -> None:
        super().__init__(*given, **options)
        if self._cookies is not None:
            for host in HOSTS:
                self.set_cookie(COOKIE, TOKEN, domain=host)
