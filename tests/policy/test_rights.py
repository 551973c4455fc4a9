"""Every route by every role: what is allowed goes through, all else is refused, and nothing refused is offered.

Who may do what is written down here a second time, by hand, from what each role is for: a slip in the product's
own table shows as a difference.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape

import pytest
from flask import Flask
from sqlalchemy import func, select, update
from sqlalchemy.orm import Session
from werkzeug.exceptions import HTTPException
from werkzeug.routing import Rule

from nursery.errors import Forbidden
from nursery.models import Account, Change, Person, Planting, Population, Recipient, Trip
from nursery.models.accounts import Role
from nursery.web import rights
from nursery.web.access import COOKIE
from tests.policy.addresses import values_of
from tests.signing_in import write_sign_in

#: One letter a role: coordinator, seed keeper, grower, (field) collector, viewer, administrator of accounts.
LETTERS = {
    "C": Role.COORDINATOR, "S": Role.SEED_KEEPER, "G": Role.GROWER, "F": Role.COLLECTOR, "V": Role.VIEWER,
    "A": Role.ADMINISTRATOR,
}  # fmt: skip
ALL, STAFF, PRIVATE = "CSGFVA", "CSGF", "CSGFA"
#: Blueprint → who may look, who may change.
EXPECTED = {
    "account": (ALL, ALL),
    "accounts": ("A", "A"),
    "api_guide": (ALL, ""),
    "attachments": (PRIVATE, "CSGF"),
    "batches": (ALL, "CG"),
    "benches": (ALL, "CG"),
    "calculators": (ALL, ""),
    "calculators_api": (ALL, ALL),
    "calendar": (ALL, ""),
    "changes": (PRIVATE, ""),
    "climates": (PRIVATE, "C"),
    "containers": (ALL, "CG"),
    "costs": (PRIVATE, ""),
    "declaration": (ALL, ""),
    "deviations": (ALL, "CG"),
    "dispatches": (ALL, "CG"),
    "dossiers": (ALL, ""),
    "expenses": (PRIVATE, "C"),
    "forecast": (ALL, "CG"),
    "health": (ALL, "CG"),
    "hours": (PRIVATE, STAFF),
    "imports": ("C", "C"),
    "lots": (ALL, "CS"),
    "map": (PRIVATE, ""),
    "movement_book": (ALL, ""),
    "needs": (PRIVATE, ""),
    "next_year": (ALL, ""),
    "nurseries": (ALL, "C"),
    "origin": (ALL, "C"),
    "papers": (ALL, "CSG"),
    "people": (PRIVATE, "C"),
    "permits": (PRIVATE, "C"),
    "plans": (ALL, "C"),
    "plans_api": (ALL, ""),
    "plantings": (ALL, "CSGF"),
    "plots": (ALL, "CSGF"),
    "populations": (PRIVATE, "CSF"),
    "programme": (PRIVATE, ""),
    "quality": (ALL, "CSG"),
    "ready": (ALL, ""),
    "recipients": (PRIVATE, "CG"),
    "resources_api": (ALL, ""),
    "scoutings": (ALL, "CG"),
    "search": (ALL, ""),
    "season": (ALL, ""),
    "season_reports": (ALL, "C"),
    "settings": ("C", "C"),
    "sites": (ALL, "C"),
    "sowing": (ALL, ""),
    "space": (ALL, "CG"),
    "species": (ALL, "C"),
    "standard_times": (PRIVATE, "C"),
    "stock": (ALL, ""),
    "storage": (ALL, "CS"),
    "supplies": (ALL, "CG"),
    "surveys": (ALL, "CSGF"),
    "tables_api": (ALL, ""),
    "targets": (ALL, "C"),
    "trace": (ALL, ""),
    "treatments": (ALL, "CG"),
    "trips": (PRIVATE, "CSF"),
    "watch": (ALL, ""),
    "what_if": ("C", "C"),
    "work": (PRIVATE, STAFF),
    "zones": (ALL, "C"),
}
#: Single routes of which something else is expected.
APART = {
    "lots.new": "CSF",
    "lots.field_facts": "CSF",
    "lots.bags": "CSF",
    "lots.release": "C",
    "papers.sign_paper": "C",
    "papers.ruling": "C",
    "papers.withdraw": "C",
    "permits.notice": "CSF",
    "season_reports.making": "C",
    "settings.logo": ALL,
    "surveys.replace": "C",
    "surveys.take": "C",
    "writes_api.batches_counts": "CG",
    "writes_api.batches_losses": "CG",
    "writes_api.lots_germination_tests": "CS",
    "writes_api.tasks_done": STAFF,
}
#: Nobody need be signed in: to choose a language, to come in, and for calendars, which carry their own secret.
OPEN = {"static", "language", "sign_in", "feeds", "document_api"}


def token(letter: str) -> str:
    return f"token-of-{letter}"


@pytest.fixture(scope="module")
def peopled(demo: tuple[Flask, Session]) -> tuple[Flask, Session]:
    """The demo with somebody of each role signed in."""
    app, session = demo
    for letter, role in LETTERS.items():
        write_sign_in(
            session, role, name=f"One {letter}", token=token(letter), email=f"{letter.lower()}@tests.example"
        )
    session.commit()
    return app, session


def calls(app: Flask) -> Iterator[tuple[Rule, str]]:
    for rule in app.url_map.iter_rules():
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            yield rule, method


def expected(app: Flask, rule: Rule) -> str:
    """Letters of those who may have the route."""
    if rule.endpoint in APART:
        return APART[rule.endpoint]
    look, change = EXPECTED[rule.endpoint.rpartition(".")[0]]
    takes = any("POST" in (one.methods or ()) for one in app.url_map.iter_rules(rule.endpoint))
    return change if takes else look


def passes(app: Flask, path: str, method: str, letter: str) -> str:
    """What the request meets before any page: ``through``, ``refused``, ``sign in`` or ``401``."""
    headers = {"Cookie": f"{COOKIE}={token(letter)}"} if letter else {}
    with app.test_request_context(path, method=method, headers=headers):
        try:
            answer = app.preprocess_request()
        except Forbidden:
            return "refused"
        finally:
            app.do_teardown_request()
        if answer is None:
            return "through"
        status, where = (
            app.make_response(answer).status_code,
            app.make_response(answer).headers.get("Location", ""),
        )
        return "sign in" if status == 303 and where.startswith("/sign-in") else str(status)


def test_every_route_is_open_to_the_roles_that_it_is_for_and_to_no_other(peopled: tuple[Flask, Session]) -> None:
    app, session = peopled
    before = session.scalar(select(func.count()).select_from(Change))
    app.config["WTF_CSRF_ENABLED"] = False
    with app.test_request_context():
        adapter = app.url_map.bind("localhost")
        paths = {rule.endpoint: adapter.build(rule.endpoint, values_of(rule, session)) for rule, _m in calls(app)}
    wrong, asked = [], 0
    for rule, method in calls(app):
        blueprint = rule.endpoint.rpartition(".")[0] or rule.endpoint
        if blueprint in OPEN:
            assert passes(app, paths[rule.endpoint], method, "") == "through", rule.endpoint
            continue
        nobody = passes(app, paths[rule.endpoint], method, "")
        # Whoever sent a form signs in on the page that keeps what was typed.
        if nobody != ("401" if rule.rule.startswith("/api/") or method != "GET" else "sign in"):
            wrong.append(("nobody", method, rule.endpoint, nobody))
        for letter in LETTERS:
            wanted = "through" if letter in expected(app, rule) else "refused"
            found = passes(app, paths[rule.endpoint], method, letter)
            asked += 1
            if found != wanted:
                wrong.append((letter, method, rule.endpoint, found))

    assert wrong == []
    assert asked > 2_000
    assert session.scalar(select(func.count()).select_from(Change)) == before


def test_every_route_has_a_rule(peopled: tuple[Flask, Session]) -> None:
    app, _session = peopled
    ruled = set(rights.BLUEPRINTS) | {name.rpartition(".")[0] for name in rights.ROUTES}
    with app.app_context():
        found = {rule.endpoint.rpartition(".")[0] for rule in app.url_map.iter_rules()}

    assert found - ruled == set()


Shown = dict[str, dict[str, str]]
#: Kinds of answers whose text is looked through.
READABLE = {"text/html", "text/csv", "application/json", "application/geo+json"}


@pytest.fixture(scope="module")
def shown(peopled: tuple[Flask, Session]) -> Shown:
    """What viewer and grower see: by letter, the text of each page, table and answer that is open to them."""
    app, session = peopled
    hide_something(session)
    with app.test_request_context():
        adapter = app.url_map.bind("localhost")
        routes = [
            (rule, adapter.build(rule.endpoint, values_of(rule, session))) for rule, m in calls(app) if m == "GET"
        ]
    found: Shown = {}
    for letter in "VG":
        client = app.test_client()
        client.set_cookie(COOKIE, token(letter))
        found[letter] = {}
        for rule, path in routes:
            if rule.endpoint.rpartition(".")[0] in EXPECTED and letter in expected(app, rule):
                with client.get(path) as answer:
                    if answer.status_code == 200 and answer.mimetype in {
                        "text/html",
                        "text/csv",
                        "application/json",
                    }:
                        found[letter][path] = answer.text
    return found


#: What a viewer must not see: words that stand in private fields only.
HIDDEN = {
    "a person of the team": "Canaria Person",
    "a wage": "73.51",
    "a contact": "Canaria Contact",
    "who collected": "Canaria Collector",
    "who planted": "Canaria Planter",
    "latitude of a protected stand": "39.51732",
    "the same with a comma": "39,51732",
    "a calendar's address": "canaria-feed",
    "somebody's e-mail address": "canaria@tests.example",
}


def hide_something(session: Session) -> None:
    """Fill the private fields with words that are found again."""
    session.execute(update(Person).values(wage_per_hour=73.51))
    first = session.scalars(select(Person).order_by(Person.id).limit(1)).one()
    first.name, first.feed_token = "Canaria Person", "canaria-feed"
    session.execute(update(Recipient).values(contact="Canaria Contact"))
    session.execute(update(Trip).values(people="Canaria Collector"))
    session.execute(update(Planting).values(people="Canaria Planter"))
    session.execute(update(Population).values(is_sensitive=True, latitude=39.51732))
    session.scalars(select(Account).where(Account.name == "One C")).one().email = "canaria@tests.example"
    session.commit()


def test_a_viewer_sees_no_private_data_on_any_page(shown: Shown) -> None:
    assert len(shown["V"]) > 120
    leaks = {
        (what, path)
        for path, text in shown["V"].items()
        for what, word in HIDDEN.items()
        if word in unescape(text)
    }

    assert sorted(leaks) == []


@pytest.mark.parametrize("letter", ["V", "G"])
def test_no_page_offers_what_would_be_refused(peopled: tuple[Flask, Session], shown: Shown, letter: str) -> None:
    app, _session = peopled
    refused = {
        f"{method} {endpoint_of(app, path, method)} on {page}"
        for page, text in shown[letter].items()
        if not page.startswith("/api/")
        for method, path in offered(text, page)
        if not may(app, path, method, letter)
    }

    assert sorted(refused) == []


def offered(html: str, page: str) -> Iterator[tuple[str, str]]:
    """Links and forms of a page: method and path."""
    for found in re.finditer(r'<a [^>]*href="([^"]+)"', html):
        if found[1].startswith("/"):
            yield "GET", unescape(found[1]).partition("?")[0].partition("#")[0]
    for found in re.finditer(r"<form [^>]*>", html):
        if 'method="post"' in found[0]:
            action = re.search(r'action="([^"]*)"', found[0])
            yield "POST", unescape(action[1]).partition("?")[0] if action and action[1] else page.partition("?")[0]


def endpoint_of(app: Flask, path: str, method: str) -> str:
    try:
        return str(app.url_map.bind("localhost").match(path, method)[0])
    except HTTPException:
        return ""


def may(app: Flask, path: str, method: str, letter: str) -> bool:
    endpoint = endpoint_of(app, path, method)
    if not endpoint or (endpoint.rpartition(".")[0] or endpoint) in OPEN:
        return True
    rule = next(app.url_map.iter_rules(endpoint))
    return letter in expected(app, rule)
