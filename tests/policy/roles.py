"""What each role is for, written down a second time, by hand: a slip in the product's own table shows."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape

from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy.orm import Session
from werkzeug.exceptions import HTTPException
from werkzeug.routing import Rule

from nursery.errors import Conflict, Forbidden
from nursery.models.accounts import Role
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


def token(letter: str) -> str:
    """What the browser of somebody of a role carries."""
    return f"token-of-{letter}"


def sign_in_each_role(session: Session) -> None:
    """Somebody of each role is signed in."""
    for letter, role in LETTERS.items():
        write_sign_in(
            session, role, name=f"One {letter}", token=token(letter), email=f"{letter.lower()}@tests.example"
        )
    session.commit()


def browser_of(app: Flask, secret: str) -> FlaskClient:
    """A browser in which the bearer of a token is signed in."""
    client = app.test_client()
    client.set_cookie(COOKIE, secret)
    return client


def paths(app: Flask, session: Session) -> dict[str, str]:
    """An address of every route, with real records in it."""
    with app.test_request_context():
        adapter = app.url_map.bind("localhost")
        return {rule.endpoint: adapter.build(rule.endpoint, values_of(rule, session)) for rule, _m in calls(app)}


def passes(app: Flask, path: str, method: str, headers: dict[str, str]) -> str:
    """What a request meets before any page: ``through``, ``refused``, ``archived``, ``sign in`` or ``401``."""
    with app.test_request_context(path, method=method, headers=headers):
        try:
            answer = app.preprocess_request()
        except Forbidden:
            return "refused"
        except Conflict:
            return "archived"
        finally:
            app.do_teardown_request()
        if answer is None:
            return "through"
        made = app.make_response(answer)
        where = made.headers.get("Location", "")
        return "sign in" if made.status_code == 303 and where.startswith("/sign-in") else str(made.status_code)


def cookie(secret: str) -> dict[str, str]:
    """Headers of a browser."""
    return {"Cookie": f"{COOKIE}={secret}"} if secret else {}


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
