"""Every route by every role: what is allowed goes through, and all else is refused."""

from __future__ import annotations

from flask import Flask
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Change
from nursery.web import rights
from tests.policy.roles import LETTERS, OPEN, calls, cookie, expected, passes, paths, token


def test_every_route_is_open_to_the_roles_that_it_is_for_and_to_no_other(peopled: tuple[Flask, Session]) -> None:
    app, session = peopled
    before = session.scalar(select(func.count()).select_from(Change))
    addresses = paths(app, session)
    wrong, asked = [], 0
    for rule, method in calls(app):
        address = addresses[rule.endpoint]
        nobody = passes(app, address, method, {})
        if (rule.endpoint.rpartition(".")[0] or rule.endpoint) in OPEN:
            assert nobody == "through", rule.endpoint
            continue
        # Whoever sent a form signs in on the page that keeps what was typed.
        if nobody != ("401" if rule.rule.startswith("/api/") or method != "GET" else "sign in"):
            wrong.append(("nobody", method, rule.endpoint, nobody))
        for letter in LETTERS:
            wanted = "through" if letter in expected(app, rule) else "refused"
            found = passes(app, address, method, cookie(token(letter)))
            asked += 1
            if found != wanted:
                wrong.append((letter, method, rule.endpoint, found))

    assert wrong == []
    assert asked > 2_000
    session.rollback()  # what was read first is all that a transaction sees
    assert session.scalar(select(func.count()).select_from(Change)) == before


def test_every_route_has_a_rule(peopled: tuple[Flask, Session]) -> None:
    app, _session = peopled
    ruled = set(rights.BLUEPRINTS) | {name.rpartition(".")[0] for name in rights.ROUTES}
    found = {rule.endpoint.rpartition(".")[0] for rule in app.url_map.iter_rules()}

    assert found - ruled == set()
