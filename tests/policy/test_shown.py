"""What each role is shown: nothing that would be refused is offered, and no file tells a viewer private data."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import select, update
from sqlalchemy.orm import Session
from werkzeug.routing import Rule

from nursery.models import Account, Change, Person, Planting, Population, Recipient, Trip
from nursery.models.accounts import Scope
from nursery.services import records
from nursery.services.accounts.api_tokens import make_token
from tests.conftest import TODAY
from tests.policy.reading import words_of
from tests.policy.roles import (
    EXPECTED,
    LETTERS,
    browser_of,
    calls,
    endpoint_of,
    expected,
    may,
    offered,
    paths,
    token,
)

#: What a viewer must not see: words that stand in private fields only.
HIDDEN = {
    "a person of the team": "Canaria Person",
    "a wage": "73.51",
    "a contact": "Canaria Contact",
    "who collected": "Canaria Collector",
    "who planted": "Canaria Planter",
    "who planted, as it was first written down": "Canaria Former",
    "latitude of a protected stand": "39.51732",
    "the same with a comma": "39,51732",
    "a calendar's address": "canaria-feed",
    "somebody's e-mail address": "canaria@tests.example",
}
#: Files that others take along; their pages are what is looked at for what they offer.
FILES = (".pdf", ".xlsx", ".csv", ".zip", ".svg", ".png", ".geojson", ".ics", ".css")

#: ``shown(letter, files)`` is what somebody gets from each address open to them: path to content.
Shown = Callable[[str, bool], dict[str, bytes]]


@pytest.fixture(scope="module")
def shown(peopled: tuple[Flask, Session]) -> Shown:
    app, session = peopled
    hide_something(session)
    addresses = paths(app, session)
    looks = [rule for rule, method in calls(app) if method == "GET"]

    @cache
    def look(letter: str, files: bool) -> dict[str, bytes]:
        client, found = browser_of(app, token(letter)), {}
        for rule in looks:
            path = addresses[rule.endpoint]
            is_file = path.startswith("/api/") or path.endswith(FILES)
            if (rule.endpoint.rpartition(".")[0] or rule.endpoint) not in EXPECTED or is_file is not files:
                continue
            if letter in expected(app, rule):
                found |= {one: got for one in in_each_format(rule, path) if (got := content_of(client, one))}
        return found

    return look


def in_each_format(rule: Rule, path: str) -> list[str]:
    """The addresses of a table or paper, one a format of its file."""
    formats = rule._converters["file_format"].items if "file_format" in rule.arguments else ()
    return [f"{path.rpartition('.')[0]}.{one}" for one in sorted(formats)] or [path]


def content_of(client: FlaskClient, path: str) -> bytes:
    """What is sent from an address; nothing where it leads elsewhere."""
    with client.get(path) as answer:
        return answer.get_data() if answer.status_code == 200 else b""


def hide_something(session: Session) -> None:
    """Fill the private fields with words that are found again."""
    session.execute(update(Person).values(wage_per_hour=73.51))
    first = session.scalars(select(Person).order_by(Person.id).limit(1)).one()
    first.name, first.feed_token = "Canaria Person", "canaria-feed"
    session.execute(update(Recipient).values(contact="Canaria Contact"))
    session.execute(update(Trip).values(people="Canaria Collector"))
    planted = session.scalars(select(Planting).order_by(Planting.id).limit(1)).one()
    records.update(session, "One C", planted, {"people": "Canaria Former"})  # the history keeps it
    session.execute(update(Planting).values(people="Canaria Planter"))
    session.execute(update(Population).values(is_sensitive=True, latitude=39.51732))
    session.scalars(select(Account).where(Account.name == "One C")).one().email = "canaria@tests.example"
    session.commit()


def leaks(contents: dict[str, bytes]) -> list[tuple[str, str]]:
    """What of the hidden words stands where."""
    hidden = {what: "".join(word.split()) for what, word in HIDDEN.items()}
    told = {path: words_of(content) for path, content in contents.items()}
    return sorted((what, path) for path, text in told.items() for what, word in hidden.items() if word in text)


def test_a_viewer_sees_no_private_data_on_any_page(shown: Shown) -> None:
    assert len(shown("V", False)) > 100
    assert leaks(shown("V", False)) == []


def test_a_viewer_takes_no_private_data_along_in_any_file(shown: Shown) -> None:
    files = shown("V", True)
    kinds = {ending: sum(path.endswith(ending) for path in files) for ending in FILES}

    assert (kinds[".pdf"] >= 9, kinds[".xlsx"] >= 50, kinds[".csv"] >= 50, kinds[".zip"] >= 3) == (True,) * 4
    assert sum(path.startswith("/api/") for path in files) > 15
    assert leaks(files) == []


def test_what_is_hidden_is_there_for_who_may_see_it(peopled: tuple[Flask, Session], shown: Shown) -> None:
    app, session = peopled
    client, addresses = browser_of(app, token("C")), paths(app, session)
    some = [rule for rule, _m in calls(app) if rule.endpoint in {"dossiers.site_file", "people.export"}]
    files = [path for rule in some for path in in_each_format(rule, addresses[rule.endpoint])]
    found = leaks(shown("C", False)) + leaks({path: content_of(client, path) for path in files})

    assert {what for what, _path in found} == HIDDEN.keys() - {"the same with a comma"}
    # So papers, packages, workbooks and tables would be seen through.
    assert {path for _what, path in found} >= set(files)


def test_a_viewer_finds_nothing_by_a_word_that_is_hidden(peopled: tuple[Flask, Session], shown: Shown) -> None:
    app, _session = peopled
    client, found = browser_of(app, token("V")), []
    for path, whole in shown("V", True).items():
        if path.endswith(".csv"):
            with client.get(f"{path}?q=Canaria") as answer:
                if answer.get_data() != whole and len(answer.text.splitlines()) > 1:
                    found.append(path)
    for word in ("Canaria", "Qanaria"):  # the second stands nowhere
        with client.get(f"/search?q={word}") as answer:
            found.append(sorted(offered(answer.text, "/search")))

    assert found[:-2] == []
    assert found[-2] == found[-1]


def test_programs_get_no_private_data_whatever_their_account_may_see(
    peopled: tuple[Flask, Session], shown: Shown
) -> None:
    app, session = peopled
    shown("C", False)  # the words are hidden by now
    account = session.scalars(select(Account).where(Account.name == "One C")).one()
    _row, secret = make_token(
        session, "One C", account=account, name="Sheet", scope=Scope.WRITE, ends_on=TODAY, today=TODAY
    )
    session.commit()
    addresses, client, answers = paths(app, session), app.test_client(use_cookies=False), {}
    for rule, method in calls(app):
        if method == "GET" and rule.rule.startswith("/api/"):
            path = addresses[rule.endpoint]
            with client.get(path, headers={"Authorization": f"Bearer {secret}"}) as answer:
                answers[path] = answer.get_data()
    who_wrote = set(session.scalars(select(Change.person)))
    told = "\n".join(answer.decode() for answer in answers.values())

    assert len(answers) > 15
    assert leaks(answers) == []
    assert len(who_wrote) > 1
    assert [name for name in who_wrote if re.search(rf"\b{name}\b", told)] == []


@pytest.mark.parametrize("letter", LETTERS)
def test_no_page_offers_what_would_be_refused(peopled: tuple[Flask, Session], shown: Shown, letter: str) -> None:
    app, _session = peopled
    refused = {
        f"{method} {endpoint_of(app, path, method)} on {page}"
        for page, content in shown(letter, False).items()
        for method, path in offered(content.decode(), page)
        if not may(app, path, method, letter)
    }

    assert sorted(refused) == []
