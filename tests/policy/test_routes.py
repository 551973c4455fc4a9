"""Every page and API address answers on the demo season, whatever is asked of it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from flask import Flask
from sqlalchemy.orm import Session
from werkzeug.routing import Rule

from tests.policy.addresses import NUMBERS, values_of

NASTY = (
    "?page=zz&sort=nonsense&after=%00&q=%27%22%3C%E2%80%AE&season=-1&species=999999&status=none&week=2026-99"
    "&lot=1e9&from=0000-00-00&year=99999999999999999999"
)


def pages(app: Flask, session: Session) -> Iterator[tuple[Rule, str]]:
    with app.test_request_context():
        adapter = app.url_map.bind("localhost")
        for rule in app.url_map.iter_rules():
            if "GET" in (rule.methods or ()):
                yield rule, adapter.build(rule.endpoint, values_of(rule, session))


def test_every_page_answers_for_the_demo(demo: tuple[Flask, Session]) -> None:
    app, session = demo
    client = app.test_client()

    wrong = {}
    for _rule, path in pages(app, session):
        answer = client.get(path)
        if answer.status_code not in {200, 302, 303}:
            wrong[path] = answer.status_code
        answer.close()

    assert wrong == {}


def test_no_page_breaks_on_odd_questions(demo: tuple[Flask, Session]) -> None:
    app, session = demo
    client = app.test_client()

    broken = {}
    for _rule, path in pages(app, session):
        answer = client.get(path + NASTY)
        if answer.status_code >= 500:
            broken[path] = answer.status_code
        answer.close()

    assert broken == {}


def test_records_that_do_not_exist_are_not_found(demo: tuple[Flask, Session]) -> None:
    app, _session = demo
    client, found = app.test_client(), {}
    with app.test_request_context():
        adapter = app.url_map.bind("localhost")
        paths = [
            adapter.build(rule.endpoint, dict.fromkeys(rule.arguments, 999999999))
            for rule in app.url_map.iter_rules()
            if "GET" in (rule.methods or ()) and rule.arguments and rule.arguments <= NUMBERS
        ]
    for path in paths:
        answer = client.get(path)
        if answer.status_code != 404:
            found[path] = answer.status_code
        answer.close()

    assert found == {}


@pytest.mark.parametrize("path", ["/no-such-page", "/api/v1/no-such-thing", "/lots/abc", "/static/none.css"])
def test_unknown_addresses_are_not_found(demo: tuple[Flask, Session], path: str) -> None:
    answer = demo[0].test_client().get(path)

    assert answer.status_code == 404
    assert (answer.mimetype == "application/json") == path.startswith("/api/")
