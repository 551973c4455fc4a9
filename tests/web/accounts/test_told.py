"""What is told of signing in: news to people at the next time, lines of the log to who looks after the planner."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from sqlalchemy.orm import Session

from nursery.models import Account
from nursery.models.accounts import Role
from nursery.services.accounts import passwords
from nursery.web.access import COOKIE
from tests.signing_in import HOSTS, write_sign_in
from tests.web.conftest import Browser

PASSWORD = "heron willow 47 kettle"


@pytest.fixture
def salma(session: Session) -> Account:
    """A grower with a password."""
    account = write_sign_in(session, Role.GROWER, name="Salma", token="another", email="salma@tests.example")
    account.password_hash = passwords.hashed(PASSWORD)
    session.commit()
    return account


@pytest.fixture
def stranger(app: Flask) -> Browser:
    client = app.test_client()
    for host in HOSTS:
        client.delete_cookie(COOKIE, domain=host)
    assert isinstance(client, Browser)
    return client


def sign_in(browser: Browser) -> str:
    """The page that comes first after signing in."""
    answer: Any = browser.submit("/sign-in", {"email": "salma@tests.example", "password": PASSWORD})
    assert answer.status_code == 303
    return str(browser.get("/account").text)


def test_what_was_done_to_ones_account_is_told_at_the_next_signing_in_and_once(
    client: Browser, stranger: Browser, session: Session, salma: Account
) -> None:
    assert "of your account" not in sign_in(stranger)  # nothing happened yet
    at = f"/accounts/{salma.id}"
    client.submit(f"{at}/link", page=at)
    client.submit(
        f"{at}/edit", {"name": "Salma", "email": "salma@tests.example", "roles": ["viewer"], "nursery_id": "0"}
    )

    told = sign_in(stranger)
    assert "A link was made by which the password of your account can be set." in told
    assert "The name, e-mail address, roles or nursery of your account were changed." in told
    assert "by Ana Seabra." in told
    assert "A link was made" not in sign_in(stranger)


def test_what_was_refused_is_logged_without_what_was_typed(
    client: Browser, stranger: Browser, session: Session, salma: Account, caplog: pytest.LogCaptureFixture
) -> None:
    stranger.submit("/sign-in", {"email": "salma@tests.example", "password": "wrong and secret"})
    sign_in(stranger)
    stranger.get("/settings")
    client.post("/storage/new", data={"name": "Cellar"})

    lines = [record.getMessage() for record in caplog.records]
    assert "sign-in refused at POST /sign-in, from 127.0.0.1" in lines
    assert f"refused to account {salma.id}: GET /settings" in lines
    assert "a form without its token at POST /storage/new: The CSRF token is missing." in lines
    for typed in ("wrong and secret", PASSWORD, "salma@tests.example", "Cellar"):
        assert typed not in caplog.text


def test_nobody_writes_lines_of_their_own_into_the_log(
    client: Browser, session: Session, caplog: pytest.LogCaptureFixture
) -> None:
    client.post("/welcome/x%0d%0arefused to account 1", data={})

    lines = caplog.text.splitlines()
    assert [line for line in lines if line.startswith("refused")] == []
    assert any("POST /welcome/x%0D%0Arefused%20to%20account%201" in line for line in lines)
