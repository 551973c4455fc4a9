"""A form that comes too late loses nothing: what was typed waits while its sender signs in again."""

from __future__ import annotations

import re
from html import unescape
from io import BytesIO
from typing import Any

import pyotp
import pytest
from flask import Flask
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from nursery.models import Account, Seal, SignIn, StoragePlace
from nursery.models.accounts import Role
from nursery.services.accounts import passwords, second_factor
from nursery.web.access import COOKIE
from tests.signing_in import HOSTS, write_sign_in
from tests.web.conftest import Browser

PASSWORD = "heron willow 47 kettle"
EMAIL = "ana@tests.example"
FROM_HERE = {"Sec-Fetch-Site": "same-origin"}
PLACE = {"name": "Cellar <2>", "temperature_c": "4,5", "notes": "dry & dark\nsecond line"}


@pytest.fixture
def ana(session: Session) -> Account:
    """The account that the tests are signed in with, with a password."""
    account = session.scalars(select(Account)).one()
    account.password_hash = passwords.hashed(PASSWORD)
    session.commit()
    return account


def end_all(session: Session) -> None:
    session.execute(update(SignIn).values(ended_at=SignIn.began_at))
    session.commit()


def places(session: Session) -> list[tuple[str, float | None, str]]:
    session.rollback()
    return [(row.name, row.temperature_c, row.notes) for row in session.scalars(select(StoragePlace))]


def form_of(page: str, action: str) -> dict[str, str]:
    """What the form with this action sends: its hidden controls."""
    form = re.search(rf'<form[^>]*action="{re.escape(action)}"[^>]*>(.*?)</form>', page, re.DOTALL)
    assert form, f"no form leads to {action}"
    found = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form[1])
    return {unescape(name): unescape(value) for name, value in found}


def too_late(client: Browser, session: Session, **options: Any) -> Any:
    """A form that was opened while signed in and is sent when that has ended."""
    page = client.get("/storage/new").text
    token = re.search(r'name="csrf_token" value="([^"]+)"', page)
    assert token
    end_all(session)
    return client.post("/storage/new", data={"csrf_token": token[1], **PLACE}, **options)


def test_what_was_typed_is_carried_through_signing_in_and_sent_with_one_press(
    client: Browser, session: Session, ana: Account
) -> None:
    asked = too_late(client, session)
    assert asked.status_code == 401
    assert "You were signed out before this was saved." in asked.text
    assert "dry &amp; dark" in asked.text
    assert places(session) == []

    carried = form_of(asked.text, "/sign-in")
    wrong = client.post("/sign-in", data={**carried, "email": EMAIL, "password": "wrong"})
    assert wrong.status_code == 422
    back = client.post("/sign-in", data={**form_of(wrong.text, "/sign-in"), "email": EMAIL, "password": PASSWORD})
    assert back.status_code == 200
    assert "You are signed in again" in back.text
    assert places(session) == []  # nobody sends it but the person

    sent = client.post("/storage/new", data=form_of(back.text, "/storage/new"))
    assert sent.status_code == 303
    assert places(session) == [("Cellar <2>", 4.5, "dry & dark\nsecond line")]


def test_it_is_carried_through_the_second_factor_too(client: Browser, session: Session, ana: Account) -> None:
    from nursery.web.session import now

    ana.totp_secret = second_factor.new_secret()
    session.commit()
    asked = too_late(client, session)
    code = client.post("/sign-in", data={**form_of(asked.text, "/sign-in"), "email": EMAIL, "password": PASSWORD})
    assert code.status_code == 200
    wrong = client.post("/sign-in/code", data={**form_of(code.text, "/sign-in/code"), "code": "000000"})
    assert wrong.status_code == 422
    with client.application.test_request_context():
        right = pyotp.TOTP(ana.totp_secret).at(now())
    back = client.post("/sign-in/code", data={**form_of(wrong.text, "/sign-in/code"), "code": right})

    assert client.post("/storage/new", data=form_of(back.text, "/storage/new")).status_code == 303
    assert places(session) == [("Cellar <2>", 4.5, "dry & dark\nsecond line")]


def test_a_form_of_an_older_session_is_sent_again_with_one_press(client: Browser, session: Session) -> None:
    client.get("/storage/new")
    refused = client.post("/storage/new", data={"csrf_token": "of yesterday", **PLACE}, headers=FROM_HERE)
    assert refused.status_code == 403
    assert "This was not sent yet" in refused.text
    assert places(session) == []

    sent = client.post("/storage/new", data=form_of(refused.text, "/storage/new"))
    assert sent.status_code == 303
    assert places(session) == [("Cellar <2>", 4.5, "dry & dark\nsecond line")]


def test_who_signed_out_in_another_tab_signs_in_on_the_page_that_kept_the_typing(
    client: Browser, session: Session, ana: Account
) -> None:
    page = client.get("/storage/new").text
    client.submit("/sign-out", page="/storage/new")
    asked = client.post("/storage/new", data={**form_of_page(page), **PLACE}, headers=FROM_HERE)

    assert asked.status_code == 401
    assert form_of(asked.text, "/sign-in")["kept:notes"] == PLACE["notes"]


def form_of_page(page: str) -> dict[str, str]:
    token = re.search(r'name="csrf_token" value="([^"]+)"', page)
    assert token
    return {"csrf_token": token[1]}


def test_signing_in_in_another_tab_meanwhile_loses_nothing_either(
    client: Browser, session: Session, ana: Account
) -> None:
    asked = too_late(client, session)
    other = client.submit(
        "/sign-in", {"email": EMAIL, "password": PASSWORD}
    )  # makes a new session in this browser
    assert other.status_code == 303
    late = client.post(
        "/sign-in",
        data={**form_of(asked.text, "/sign-in"), "email": EMAIL, "password": PASSWORD},
        headers=FROM_HERE,
    )

    assert late.status_code == 403
    assert PASSWORD not in late.text
    assert client.post("/storage/new", data=form_of(late.text, "/storage/new")).status_code == 303
    assert places(session) == [("Cellar <2>", 4.5, "dry & dark\nsecond line")]


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {},
    ],
)
def test_what_another_site_may_have_typed_is_never_offered_to_be_sent(
    client: Browser, session: Session, headers: dict[str, str]
) -> None:
    signed_in = client.post("/storage/new", data=PLACE, headers=headers)
    end_all(session)
    signed_out = client.post("/storage/new", data=PLACE, headers=headers)

    assert (signed_in.status_code, signed_out.status_code) == (403, 401)
    assert "Cellar" not in signed_in.text + signed_out.text
    assert places(session) == []


def test_files_and_passwords_are_not_handed_back(client: Browser, session: Session, ana: Account) -> None:
    page = client.get("/account/password").text
    end_all(session)
    asked = client.post(
        "/account/password",
        data={**form_of_page(page), "old": PASSWORD, "password": "rain over 9 stone bridges"},
    )
    file = (BytesIO(b"code;name\n"), "stands.csv")
    sent = client.post("/imports", data={**form_of_page(page), "kind": "populations", "file": file})

    assert (asked.status_code, sent.status_code) == (401, 401)
    for answer in (asked, sent):
        assert "it could not be kept, as with files and passwords" in answer.text
        assert "stone bridges" not in answer.text
    assert 'action="/sign-in?next=/account/password"' in asked.text


def test_somebody_else_is_not_offered_what_they_may_not_send(
    client: Browser, session: Session, ana: Account
) -> None:
    grower = write_sign_in(session, Role.VIEWER, name="Salma", token="another", email="salma@tests.example")
    grower.password_hash = passwords.hashed(PASSWORD)
    session.commit()
    asked = too_late(client, session)
    carried = form_of(asked.text, "/sign-in")
    back = client.post("/sign-in", data={**carried, "email": "salma@tests.example", "password": PASSWORD})

    assert "This account may not send it" in back.text
    assert "Send it again" not in back.text
    assert "dry &amp; dark" in back.text


def test_a_page_to_sign_in_with_that_was_open_too_long_is_shown_anew(app: Flask, session: Session) -> None:
    stranger = app.test_client()
    for host in HOSTS:
        stranger.delete_cookie(COOKIE, domain=host)
    answer = stranger.post("/sign-in", data={"email": EMAIL, "password": PASSWORD}, headers=FROM_HERE)

    assert answer.status_code == 401
    assert "This page was open for too long. Type both once more." in answer.text
    assert PASSWORD not in answer.text


def test_a_conflict_hands_back_what_was_typed(client: Browser, session: Session) -> None:
    own = session.scalars(select(Account)).one()
    seals = len(session.scalars(select(Seal)).all())
    kept = client.submit(f"/accounts/{own.id}/close", {"reason": "Moved away"}, page=f"/accounts/{own.id}")

    assert kept.status_code == 409
    assert "Moved away" in kept.text
    assert form_of(kept.text, f"/accounts/{own.id}/close")["reason"] == "Moved away"
    assert len(session.scalars(select(Seal)).all()) == seals
