"""Whatever is typed into a form, the answer is a page in words: no form breaks."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy.orm import Session

from nursery.app import create_app
from nursery.config import Settings
from nursery.database import make_engine
from tests.databases import Kept
from tests.policy.addresses import values_of
from tests.signing_in import SignedIn

NASTY = [
    "", " ", "-1", "0", "1e308", "-1e-308", "NaN", "inf", "99999999999999999999", "0000-00-00", "9999-12-31",
    "1,5.2", "<b>&'\"%s{{7*7}}", "\u202e\u0000\ufffd", "🌱" * 3000, "Quercus", "85 %", "2027/28",
]  # fmt: skip
#: Tried in one field at a time, the others left as they are.
ONE_AT_A_TIME = ["", "-1", "1e308", "NaN", "99999999999999999999", "0000-00-00", "\u0000"]


class Filled(HTMLParser):
    """The fields of a page's forms as they stand."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.fields: dict[str, str] = {}
        self.choosing = self.typing = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        name = given.get("name", "")
        if tag == "input" and name and (given.get("type") not in {"radio", "checkbox"} or "checked" in given):
            self.fields[name] = given.get("value", "")
        elif tag == "select":
            self.choosing = name
        elif tag == "option" and self.choosing and ("selected" in given or self.choosing not in self.fields):
            self.fields[self.choosing] = given.get("value", "")
        elif tag == "textarea":
            self.typing = name
            self.fields[name] = ""

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self.choosing = ""
        elif tag == "textarea":
            self.typing = ""

    def handle_data(self, data: str) -> None:
        if self.typing:
            self.fields[self.typing] += data


@pytest.fixture
def own(demo_file: Kept, tmp_path: Path) -> Iterator[tuple[Flask, Session]]:
    """An application on a demo database of its own, its forms without tokens."""
    url = demo_file.copy(tmp_path, "demo")
    settings = Settings(database_url=url, data_dir=tmp_path, secret_key="for tests only", person="Ana Seabra")
    app = create_app(settings, testing=True)
    app.test_client_class = SignedIn
    app.config["WTF_CSRF_ENABLED"] = False
    engine = make_engine(url)
    with Session(engine) as session:
        yield app, session
    engine.dispose()
    app.extensions["nursery_sessions"].kw["bind"].dispose()


def forms(app: Flask, session: Session) -> list[tuple[str, bool]]:
    """Addresses that take a form, and whether they show one too."""
    with app.test_request_context():
        adapter = app.url_map.bind("localhost")
        found = [
            (adapter.build(rule.endpoint, values_of(rule, session), method="POST"), "GET" in rule.methods)
            for rule in app.url_map.iter_rules()
            if rule.methods and "POST" in rule.methods
        ]
    session.close()
    return found


def breaks(client: FlaskClient, path: str, data: dict[str, str]) -> str | None:
    """What went wrong on our side, if anything."""
    try:
        with client.post(path, data=data) as answer:
            return str(answer.status_code) if answer.status_code >= 500 else None
    except Exception as error:  # noqa: BLE001 -- all of them are listed together
        return repr(error)[:300]


def test_no_form_breaks_whatever_is_typed_everywhere(own: tuple[Flask, Session]) -> None:
    app, session = own
    client, broken, posted = app.test_client(), {}, 0
    for path, shown in forms(app, session):
        fields = Filled(client.get(path).get_data(as_text=True)).fields if shown else {"value": ""}
        for text in NASTY:
            posted += 1
            if wrong := breaks(client, path, dict.fromkeys(fields, text)):
                broken[path, text[:20]] = wrong

    assert broken == {}
    assert posted > 300


def test_no_form_breaks_on_one_odd_field(own: tuple[Flask, Session]) -> None:
    app, session = own
    client, broken, posted = app.test_client(), {}, 0
    for path in [path for path, shown in forms(app, session) if shown]:
        fields = Filled(client.get(path).get_data(as_text=True)).fields
        for name, text in itertools.product(fields, ONE_AT_A_TIME):
            posted += 1
            if wrong := breaks(client, path, fields | {name: text}):
                broken[path, name, text] = wrong

    assert broken == {}
    assert posted > 300
