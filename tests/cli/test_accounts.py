"""The first account at the command line, and no start without one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.app import start
from nursery.config import Settings
from nursery.database import make_engine
from nursery.errors import Invalid
from nursery.models import Account
from nursery.models.types import utc_now
from nursery.services.accounts.people import account_of_link
from tests.cli.conftest import Run


def secret_in(printed: str) -> str:
    return printed.strip().splitlines()[-1].rpartition("/welcome/")[2]


def test_the_first_account_gets_a_link_and_may_do_everything(run: Run, home: Path) -> None:
    made = run("account", "add", "Ana Seabra", "ana@river.example")

    assert made.exit_code == 0
    assert made.output.startswith("http://127.0.0.1:8000/welcome/")
    with Session(make_engine(f"sqlite:///{home / 'nursery.sqlite'}")) as session:
        account = session.scalars(select(Account)).one()
        assert [row.role.value for row in account.roles] == ["administrator", "coordinator"]
        assert account_of_link(session, secret_in(made.output), utc_now()) is account
        session.get_bind().dispose()  # type: ignore[union-attr]


def test_a_new_link_puts_the_old_one_out_of_use(run: Run, home: Path) -> None:
    first = run("account", "add", "Ana Seabra", "ana@river.example")
    second = run("account", "link", "ANA@river.example")

    with Session(make_engine(f"sqlite:///{home / 'nursery.sqlite'}")) as session:
        assert account_of_link(session, secret_in(first.output), utc_now()) is None
        assert account_of_link(session, secret_in(second.output), utc_now()) is not None
        session.get_bind().dispose()  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("add", "Ana", "no address"), "is no e-mail address"),
        (("link", "nobody@river.example"), "There is no account with the e-mail address"),
    ],
)
def test_what_cannot_be_is_told_in_words(run: Run, words: tuple[str, ...], told: str) -> None:
    run("account", "add", "Somebody", "somebody@river.example")
    answer = run("account", *words)

    assert answer.exit_code == 2
    assert told in answer.output


def test_pages_are_not_served_while_nobody_could_sign_in(run: Run) -> None:
    answer = run("serve", "--port", "0")

    assert answer.exit_code == 2
    assert "Nobody could sign in yet. Make the first account: nursery account add" in answer.output


@pytest.mark.parametrize("secret", ["change me", "x" * 40, ""])
def test_pages_are_not_served_with_a_secret_that_can_be_guessed(settings: Settings, secret: str) -> None:
    weak = Settings(database_url=settings.database_url, data_dir=settings.data_dir, secret_key=secret)
    with pytest.raises(Invalid, match="NURSERY_SECRET_KEY can be guessed"):
        start(weak)


@pytest.mark.parametrize("address", ["plants.example.org", "ftp://plants.example.org", "https://"])
def test_pages_are_not_served_at_what_is_no_address(settings: Settings, address: str) -> None:
    with pytest.raises(Invalid, match="which is no address"):
        start(replace(settings, secret_key="0123456789abcdef" * 3, address=address))


def test_a_server_s_application_starts_with_an_account_and_a_good_secret(settings: Settings) -> None:
    good = Settings(
        database_url=settings.database_url, data_dir=settings.data_dir, secret_key="0123456789abcdef" * 3
    )
    app = start(good)

    assert app.test_client().get("/").headers["Location"] == "/sign-in"
    app.extensions["nursery_sessions"].kw["bind"].dispose()
