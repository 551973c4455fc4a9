"""What guards every request: the names we answer to, what browsers are told, HTTPS, servers in front."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.app import create_app
from nursery.cli.opening import demo_settings
from nursery.config import Settings, read_settings
from nursery.errors import Invalid
from nursery.models import Account, FailedSignIn
from nursery.services.accounts import passwords
from nursery.web.access import HTTPS_COOKIE
from tests.signing_in import TOKEN
from tests.web.conftest import Browser

ADDRESS = "https://plants.example.org"
PASSWORD = "heron willow 47 kettle"


@pytest.fixture
def serve(settings: Settings) -> Iterator[Callable[..., Browser]]:
    """``serve(address=…, proxies=…)`` is a browser at an application with these settings."""
    made: list[Flask] = []

    def start(**changed: Any) -> Browser:
        app = create_app(replace(settings, **changed), testing=True)
        app.test_client_class = Browser
        made.append(app)
        client = app.test_client()
        assert isinstance(client, Browser)
        return client

    yield start
    for app in made:
        app.extensions["nursery_sessions"].kw["bind"].dispose()


def headers_of(client: Browser, path: str) -> Any:
    with client.get(path) as answer:  # files of ours stay open until they are sent
        return answer.headers


@pytest.mark.parametrize("name", ["localhost", "127.0.0.1:8000", "[::1]:8000", "LOCALHOST"])
def test_the_names_of_this_machine_are_answered(client: Browser, name: str) -> None:
    assert client.get("/sign-in", headers={"Host": name}).status_code == 200


@pytest.mark.parametrize(
    "name", ["elsewhere.example", "localhost.elsewhere.example", "127.0.0.1.elsewhere.example:80", "x@localhost"]
)
def test_no_other_name_is_answered_until_it_is_set(client: Browser, name: str) -> None:
    refused = client.get("/lots", headers={"Host": name})

    assert refused.status_code == 400
    assert "sets NURSERY_ADDRESS" in refused.text
    assert "Code or name" not in refused.text


def test_the_name_that_was_set_is_answered_and_others_are_not(serve: Callable[..., Browser]) -> None:
    client = serve(address=ADDRESS)

    assert client.get("/sign-in", base_url=ADDRESS).status_code == 200
    assert client.get("/sign-in", base_url="https://elsewhere.example").status_code == 400


def test_the_demo_answers_to_this_machine_only_whatever_is_set(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NURSERY_ADDRESS", ADDRESS)
    monkeypatch.setenv("NURSERY_PROXIES", "1")

    assert (read_settings().address, read_settings().proxies) == (ADDRESS, 1)
    assert (demo_settings().address, demo_settings().proxies) == ("", 0)


def test_one_time_links_lead_to_the_address_that_was_set_whatever_the_request_says(
    serve: Callable[..., Browser],
) -> None:
    client = serve(address="http://plants.example.org")
    data = {"name": "Salma", "email": "salma@river.example", "roles": ["grower"], "nursery_id": "0"}
    claimed = {"X-Forwarded-Host": "elsewhere.example", "X-Forwarded-Proto": "https"}
    made = client.submit("/accounts/new", data, headers=claimed)

    assert made.status_code == 201
    assert "http://plants.example.org/welcome/" in made.text
    assert "localhost" not in made.text


def test_pages_are_kept_by_no_browser_but_styles_and_scripts_are(client: Browser) -> None:
    kept = {
        path: headers_of(client, path)["Cache-Control"]
        for path in ("/", "/lots", "/lots.csv", "/account", "/sign-in", "/no-such-page", "/api/v1/lots",
                     "/static/nursery.css", "/static/guard.js")
    }  # fmt: skip

    assert {path for path, said in kept.items() if said == "no-store"} == {
        "/", "/lots", "/lots.csv", "/account", "/sign-in", "/no-such-page", "/api/v1/lots",
    }  # fmt: skip
    assert {kept["/static/nursery.css"], kept["/static/guard.js"]} == {
        "no-cache"
    }  # asked for anew, sent only if new
    mark = headers_of(client, "/static/nursery.css")["ETag"]
    with client.get("/static/nursery.css", headers={"If-None-Match": mark}) as again:
        assert again.status_code == 304


def test_every_answer_tells_browsers_what_not_to_do(client: Browser) -> None:
    for path in ("/lots", "/no-such-page", "/api/v1/lots", "/static/guard.js"):
        headers = headers_of(client, path)
        assert "default-src 'none'" in headers["Content-Security-Policy"]
        assert "unsafe" not in headers["Content-Security-Policy"]
        assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "same-origin"
        assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
        assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
        assert "camera=()" in headers["Permissions-Policy"]
        assert "geolocation=()" in headers["Permissions-Policy"]
        assert "Access-Control-Allow-Origin" not in headers
        assert "charset=utf-8" in headers["Content-Type"] or headers["Content-Type"] == "application/json"


def test_over_https_browsers_are_told_to_stay_there_and_over_http_they_are_not(
    client: Browser, serve: Callable[..., Browser]
) -> None:
    secure = serve(address=ADDRESS).get("/sign-in", base_url=ADDRESS)

    assert secure.headers["Strict-Transport-Security"] == "max-age=63072000; includeSubDomains"
    assert "Strict-Transport-Security" not in client.get("/sign-in").headers


def test_over_https_cookies_are_bound_to_it_and_to_this_very_name(
    serve: Callable[..., Browser], session: Session
) -> None:
    session.scalars(select(Account)).one().password_hash = passwords.hashed(PASSWORD)
    session.commit()
    client = serve(address=ADDRESS)
    options = {"base_url": ADDRESS, "headers": {"Referer": f"{ADDRESS}/sign-in"}}
    page = client.get("/sign-in", **options)
    token = page.text.split('name="csrf_token" value="')[1].split('"')[0]
    data = {"csrf_token": token, "email": "ana@tests.example", "password": PASSWORD}
    let_in = client.post("/sign-in", data=data, **options)
    language = client.post("/language", data={"csrf_token": token, "language": "pt"}, **options)
    client.set_cookie("nursery_sign_in", TOKEN, domain="plants.example.org")

    cookies = [text for answer in (page, let_in) for text in answer.headers.getlist("Set-Cookie")]
    assert {text.partition("=")[0] for text in cookies} == {"__Host-session", HTTPS_COOKIE}
    cookies += language.headers.getlist("Set-Cookie")
    for text in cookies:
        parts = {part.strip() for part in text.split(";")}
        assert {"Secure", "HttpOnly", "SameSite=Lax", "Path=/"} <= parts
        assert not any(part.startswith("Domain") for part in parts)
    assert let_in.status_code == 303
    assert client.get("/lots", **options).status_code == 200
    client.delete_cookie(HTTPS_COOKIE, domain="plants.example.org")
    assert client.get("/lots", **options).status_code == 303  # the plain name counts for nothing


@pytest.mark.parametrize(("proxies", "counted"), [(0, "127.0.0.1"), (1, "203.0.113.9"), (2, "198.51.100.4")])
def test_wrong_passwords_are_counted_by_the_address_that_a_known_server_had_them_from(
    serve: Callable[..., Browser], session: Session, proxies: int, counted: str
) -> None:
    client = serve(address="http://plants.example.org", proxies=proxies)
    claimed = {"X-Forwarded-For": "192.0.2.66, 198.51.100.4, 203.0.113.9"}
    refused = client.submit("/sign-in", {"email": "ana@tests.example", "password": "wrong"}, headers=claimed)

    assert refused.status_code == 422
    assert session.scalars(select(FailedSignIn.address)).all() == [counted]


@pytest.mark.parametrize("typed", ["one", "-1", "6"])
def test_a_number_of_servers_that_cannot_be_is_told_in_words(monkeypatch: pytest.MonkeyPatch, typed: str) -> None:
    monkeypatch.setenv("NURSERY_PROXIES", typed)
    with pytest.raises(Invalid, match="number of web servers"):
        read_settings()
