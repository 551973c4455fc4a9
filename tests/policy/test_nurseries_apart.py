"""An account bound to one nursery changes nothing of another, and nobody changes what an archived one has."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from flask import Flask
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Account, Nursery
from nursery.services.health.hygiene_points import POINTS
from nursery.web import objects
from tests.conftest import TODAY
from tests.policy.apart import BOUND, FREE, OWN, THEIRS, carried
from tests.policy.belongings import BY_FORM, COMMON, OF_A_NURSERY, address, found, owned, writing
from tests.policy.roles import browser_of, calls, cookie, offered, passes, paths

#: What may still be told of a nursery when it is closed.
AFTERWARDS = {"plantings", "hours", "expenses"}


def test_of_every_writing_route_somebody_said_whose_the_record_is(apart: tuple[Flask, Session]) -> None:
    app, _session = apart
    told = {
        rule.endpoint: (rule.endpoint in BY_FORM, bool(found(COMMON, rule)), bool(found(OF_A_NURSERY, rule)))
        for rule in writing(app)
    }
    tables = {name.rpartition(".")[0] or name for name in [*COMMON, *OF_A_NURSERY, *BY_FORM]}

    assert [endpoint for endpoint, ways in told.items() if not any(ways)] == []
    assert sorted(tables - {rule.endpoint.rpartition(".")[0] for rule in writing(app)}) == []
    assert told.keys() >= BY_FORM


def test_a_record_of_another_nursery_is_changed_by_no_route(
    apart: tuple[Flask, Session], written: Callable[[], bool]
) -> None:
    app, session = apart
    client, wrong = browser_of(app, BOUND), []
    names = dict(session.execute(select(Nursery.id, Nursery.name)).all())
    for rule in owned(app):
        there = address(app, session, rule, THEIRS)
        methods = (
            ["POST"] if rule.endpoint in objects.SHOWN or "GET" not in (rule.methods or ()) else ["GET", "POST"]
        )
        for method in methods:
            answer = client.open(there, method=method, json={} if there.startswith("/api/") else None)
            clear = (
                names[THEIRS] in answer.text and names[OWN] in answer.text and "Ask a coordinator" in answer.text
            )
            if (answer.status_code, clear) != (403, True):
                wrong.append((rule.endpoint, method, there, answer.status_code))

    assert wrong == []
    assert len(owned(app)) > 60
    assert not written()


def test_a_record_of_ones_own_nursery_and_what_is_common_are_open(apart: tuple[Flask, Session]) -> None:
    app, session = apart
    account = session.scalars(select(Account).where(Account.name == "Bound")).one()
    common = paths(app, session)
    others = [rule for rule in writing(app) if rule not in owned(app)]
    kept = {
        (who, rule.endpoint): passes(app, common[rule.endpoint], "POST", cookie(who))
        for rule in others for who in (BOUND, FREE)
    }  # fmt: skip
    account.nursery_id = THEIRS
    session.commit()
    met = {
        (who, rule.endpoint): passes(app, address(app, session, rule, THEIRS), "POST", cookie(who))
        for rule in owned(app) for who in (BOUND, FREE)
    }  # fmt: skip
    account.nursery_id = OWN
    session.commit()

    assert {key: found for key, found in (kept | met).items() if found != "through"} == {}
    assert len(kept | met) == 2 * len(writing(app))


def test_a_load_of_two_nurseries_is_for_who_may_change_both(apart: tuple[Flask, Session]) -> None:
    app, session = apart
    account = session.scalars(select(Account).where(Account.name == "Bound")).one()
    load_id = next(load_id for load_id, nurseries in carried(session).items() if nurseries == {THEIRS, OWN})
    met = []
    for nursery_id in (OWN, THEIRS, None):
        account.nursery_id = nursery_id
        session.commit()
        met.append(passes(app, f"/loads/{load_id}/edit", "POST", cookie(BOUND)))
    account.nursery_id = OWN
    session.commit()

    assert met == ["refused", "refused", "through"]


def test_what_belongs_to_an_archived_nursery_is_left_as_it_is(
    apart: tuple[Flask, Session], written: Callable[[], bool]
) -> None:
    app, session = apart
    closed = session.get_one(Nursery, THEIRS)
    places = [(rule, address(app, session, rule, THEIRS)) for rule in owned(app)]
    closed.archived_at = dt.datetime(2026, 11, 20, tzinfo=dt.UTC)
    session.commit()
    assert written()
    client, wrong, through = browser_of(app, FREE), [], set()
    for rule, there in places:
        blueprint = rule.endpoint.rpartition(".")[0]
        if blueprint in AFTERWARDS | {"nurseries"}:
            through.add((blueprint, passes(app, there, "POST", cookie(FREE))))
            continue
        form = {point.key: "yes" for point in POINTS} | {"checked_on": TODAY.isoformat()}
        answer = client.post(there, **({"json": {}} if there.startswith("/api/") else {"data": form}))
        told = answer.get_json()["errors"]["request"] if answer.is_json else answer.text
        clear = f"The nursery {closed.name} is archived. Bring it back" in told
        if (answer.status_code, clear) != (409, True):
            wrong.append((rule.endpoint, there, answer.status_code))
    changed = written()
    closed.archived_at = None
    session.commit()

    assert wrong == []
    assert through == {(blueprint, "through") for blueprint in AFTERWARDS | {"nurseries"}}
    assert not changed


def test_the_pages_of_other_nurseries_are_read_as_by_all_others_and_offer_no_change(
    apart: tuple[Flask, Session],
) -> None:
    app, session = apart
    bound, free, wrong, offers = browser_of(app, BOUND), browser_of(app, FREE), [], {}
    writes = {rule.endpoint for rule in writing(app)} - objects.SHOWN
    looks = [
        rule for rule, method in calls(app)
        if method == "GET" and rule.endpoint not in writes and found(OF_A_NURSERY, rule)
        and rule.arguments in ({"record_id"}, {"batch_id"}, {"dispatch_id"})
    ]  # fmt: skip
    pages = [address(app, session, rule, THEIRS) for rule in looks]
    lists = ["/batches", "/benches", "/loads", "/tasks", "/work", "/health", "/space", "/api/v1/tasks"]
    for page in [*pages, *lists]:
        own, all_ = bound.get(page), free.get(page)
        if own.status_code != all_.status_code:
            wrong.append((page, own.status_code, all_.status_code))
        if own.is_json:
            assert own.data == all_.data
        elif own.mimetype == "text/html":
            offers |= dict.fromkeys(offered(own.text, page), page)
    for (method, path), page in offers.items():
        if passes(app, path, method, cookie(BOUND)) == "refused":
            wrong.append((page, method, path))

    assert wrong == []
    assert (len(pages) > 10, len(offers) > 300) == (True, True)
