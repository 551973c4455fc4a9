"""Coming in by the pages: password, code, link and token, and what a browser is told to keep."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pyotp
import pytest
from flask import Flask
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Account, Change, SignIn, StoragePlace
from nursery.models.accounts import Role
from nursery.services.accounts import people
from nursery.web.access import COOKIE
from tests.signing_in import HOSTS
from tests.web.conftest import Browser

PASSWORD = "heron willow 47 kettle"


@pytest.fixture
def stranger(app: Flask) -> Browser:
    """A browser in which nobody is signed in."""
    client = app.test_client()
    for host in HOSTS:
        client.delete_cookie(COOKIE, domain=host)
    assert isinstance(client, Browser)
    return client


@pytest.fixture
def invited(client: Browser) -> Callable[..., str]:
    """``invited(role, name)`` invites somebody by the page; the path of the link."""

    def invite(role: Role, name: str) -> str:
        page = client.submit(
            "/accounts/new",
            {"name": name, "email": f"{name.lower()}@river.example", "roles": [role.value], "nursery_id": "0"},
        )
        assert page.status_code == 201, page.text
        assert page.headers["Cache-Control"] == "no-store"
        found = re.search(r"http://localhost(/welcome/[\w-]+)", page.text)
        assert found
        return found[1]

    return invite


def sign_in(browser: Browser, name: str, password: str = PASSWORD, *, path: str = "/sign-in") -> Any:
    return browser.submit(path, {"email": f"{name.lower()}@river.example", "password": password})


def test_an_invitation_leads_to_a_password_and_in_and_is_good_once(
    invited: Callable[..., str], stranger: Browser
) -> None:
    link = invited(Role.GROWER, "Salma")
    refused = stranger.submit(link, {"password": "short"})
    assert refused.status_code == 422
    assert "at least 12" in refused.text
    assert stranger.submit(link, {"password": PASSWORD}).headers["Location"] == "/sign-in"
    answer = sign_in(stranger, "Salma", path="/sign-in?next=/batches")

    assert answer.headers["Location"] == "/batches"
    assert stranger.get("/batches").status_code == 200
    assert stranger.get(link).status_code == 404


def test_who_is_not_signed_in_comes_back_to_the_page_that_was_asked_for(stranger: Browser) -> None:
    assert stranger.get("/lots?q=a").headers["Location"] == "/sign-in?next=/lots?q%3Da"
    assert stranger.get("/").headers["Location"] == "/sign-in"
    assert stranger.get("/api/v1/plan").status_code == 401
    page = stranger.get("/sign-in")
    assert page.status_code == 200
    assert "Code or name" not in page.text  # nothing of the nursery is shown


@pytest.mark.parametrize(
    "elsewhere", ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example"]
)
def test_signing_in_leads_to_pages_of_ours_only(
    invited: Callable[..., str], stranger: Browser, elsewhere: str
) -> None:
    stranger.submit(invited(Role.GROWER, "Salma"), {"password": PASSWORD})
    answer = sign_in(stranger, "Salma", path=f"/sign-in?next={elsewhere}")

    assert answer.headers["Location"] == "/"


def test_a_wrong_password_tells_nothing_and_five_of_them_make_one_wait(
    invited: Callable[..., str], stranger: Browser
) -> None:
    stranger.submit(invited(Role.GROWER, "Salma"), {"password": PASSWORD})
    wrong = [sign_in(stranger, "Salma", "wrong") for _try in range(5)]
    unknown = sign_in(stranger, "Nobody", "wrong")
    held = sign_in(stranger, "Salma")

    told = "E-mail address and password do not fit together."
    assert [(page.status_code, told in page.text) for page in (*wrong, unknown)] == [(422, True)] * 6
    assert held.status_code == 429
    assert "Too many wrong tries." in held.text


def test_the_browser_keeps_its_token_to_itself(invited: Callable[..., str], stranger: Browser) -> None:
    stranger.submit(invited(Role.GROWER, "Salma"), {"password": PASSWORD})
    answer = sign_in(stranger, "Salma")
    cookie = next(text for text in answer.headers.getlist("Set-Cookie") if text.startswith(COOKIE))

    assert {"HttpOnly", "SameSite=Lax", "Path=/"} <= {part.strip() for part in cookie.split(";")}
    assert "Secure" not in cookie  # the tests speak plain HTTP


def test_signing_out_ends_the_token_itself(client: Browser, session: Session) -> None:
    assert client.get("/lots").status_code == 200
    answer = client.submit("/sign-out", page="/lots")

    assert answer.headers["Location"] == "/sign-in"
    assert session.scalars(select(SignIn.ended_at)).one() is not None
    again = client.application.test_client()  # with the same cookie as before
    assert again.get("/lots").headers["Location"] == "/sign-in?next=/lots"


def test_a_second_factor_is_switched_on_asked_for_and_switched_off(
    invited: Callable[..., str], stranger: Browser, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    stranger.submit(invited(Role.GROWER, "Salma"), {"password": PASSWORD})
    sign_in(stranger, "Salma")
    page = stranger.get("/account/second-factor").text
    secret = "".join(re.findall(r"\b[A-Z2-7]{4}\b", page.split('class="secret">')[1].split("<")[0]))
    assert "<svg" in page
    assert " style=" not in page.split("<svg")[-1].split("</svg>")[0]
    wrong = stranger.submit("/account/second-factor", {"code": "000000"})
    assert wrong.status_code == 422
    code = code_now(stranger, secret)
    assert stranger.submit("/account/second-factor", {"code": code}).status_code == 303

    stranger.submit("/sign-out", page="/account")
    asked = sign_in(stranger, "Salma")
    assert asked.headers["Location"] == "/sign-in/code"
    assert stranger.get("/lots").status_code == 303  # the password alone is not enough
    assert stranger.submit("/sign-in/code", {"code": code}).status_code == 422  # used already
    account = session.scalars(select(Account).where(Account.name == "Salma")).one()
    account.totp_step = 0  # as if half a minute had passed
    session.commit()
    assert stranger.submit("/sign-in/code", {"code": code_now(stranger, secret)}).headers["Location"] == "/"
    assert stranger.get("/lots").status_code == 200


def code_now(browser: Browser, secret: str) -> str:
    """The code of the request's moment: the day of the tests at this time of day."""
    from nursery.web.session import now

    with browser.application.test_request_context():
        return pyotp.TOTP(secret).at(now())


def test_a_token_is_shown_once_and_reaches_as_far_as_its_scope(client: Browser, session: Session) -> None:
    made = {}
    for scope in ("read", "write"):
        page = client.submit("/account/tokens/new", {"name": scope, "scope": scope, "ends_on": "2026-12-24"})
        assert (page.status_code, page.headers["Cache-Control"]) == (201, "no-store")
        made[scope] = page.text.split('class="secret">')[1].split("<")[0]
    program = client.application.test_client(use_cookies=False)

    def ask(scope: str, path: str = "/api/v1/lots", method: str = "GET") -> int:
        answer = program.open(path, method=method, headers={"Authorization": f"Bearer {made[scope]}"}, json={})
        return answer.status_code

    assert (ask("read"), ask("write")) == (200, 200)
    assert ask("read", "/api/v1/tasks/1/done", "POST") == 403
    assert ask("write", "/api/v1/tasks/1/done", "POST") == 404  # there is no such task, but it may ask
    assert program.get("/lots", headers={"Authorization": f"Bearer {made['write']}"}).status_code == 303
    client.submit("/account/tokens/1/end", page="/account")
    assert (ask("read"), ask("write")) == (401, 200)
    assert all(secret not in client.get("/account").text for secret in made.values())


def test_an_administrator_changes_closes_and_reopens_an_account(
    client: Browser, invited: Callable[..., str], stranger: Browser, session: Session
) -> None:
    stranger.submit(invited(Role.GROWER, "Salma"), {"password": PASSWORD})
    sign_in(stranger, "Salma")
    account = session.scalars(select(Account).where(Account.name == "Salma")).one()
    at = f"/accounts/{account.id}"
    data = {"name": "Salma", "email": "salma@river.example", "roles": ["viewer"], "nursery_id": "0"}
    assert client.submit(f"{at}/edit", data).status_code == 303
    assert stranger.submit("/storage/new", {"name": "Fridge"}, page="/account").status_code == 403
    assert session.scalar(select(StoragePlace)) is None
    client.submit(f"{at}/close", page=at)
    assert stranger.get("/lots").status_code == 303
    assert "closed" in client.get(at).text
    client.submit(f"{at}/reopen", page=at)
    assert sign_in(stranger, "Salma").status_code == 303
    own = session.scalars(select(Account).where(Account.name == "Ana Seabra")).one()
    kept = client.submit(f"/accounts/{own.id}/close", page=f"/accounts/{own.id}")
    assert kept.status_code == 409
    assert "only one who looks after accounts" in kept.text


def test_an_account_is_changed_with_its_roles_as_they_are(client: Browser, session: Session) -> None:
    own = session.scalars(select(Account)).one()
    page = client.get(f"/accounts/{own.id}/edit").text
    boxes = re.findall(r'<input( checked)? id="roles-\d" name="roles" type="checkbox" value="([\w-]+)"', page)

    assert {value for checked, value in boxes if checked} == {row.role.value for row in own.roles}


def test_each_write_names_the_account_that_did_it(client: Browser, session: Session) -> None:
    client.submit("/storage/new", {"name": "Fridge"})
    change = session.scalars(select(Change).where(Change.subject == "storage_places")).one()
    own = session.scalars(select(Account)).one()

    assert (change.person, change.account_id) == ("Ana Seabra", own.id)
    page = client.get(f"/changes/{change.id}").text
    assert "Storage place, number" in page
    assert "Fridge" in page
    listed = client.get("/changes?subject=storage_places").text
    assert "Written down" in listed
    assert "Fridge" not in client.get("/changes?subject=lots").text
    assert client.get("/changes.csv").text.splitlines()[0] == "No.,When,Who,What,Of what,Why"


def test_nobody_acts_as_another_outside_the_demo(client: Browser, session: Session) -> None:
    with_link = people.all_accounts(session)[0]

    assert client.submit(f"/demo/act-as/{with_link.id}", page="/lots").status_code == 404
