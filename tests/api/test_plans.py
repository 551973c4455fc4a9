"""Plans over HTTP."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy.orm import Session

from nursery.config import Settings
from nursery.services.planning import adopt_plan, make_plan, plan_as_data
from tests.applications import lent


@pytest.fixture
def client(settings: Settings, today: dt.date) -> Iterator[FlaskClient]:
    with lent(settings, today=today) as app:
        yield app.test_client()


def test_without_a_plan_the_answer_is_404_in_json(client: FlaskClient) -> None:
    for path in ("/api/v1/plan", "/api/v1/plans/1"):
        answer = client.get(path)
        assert (answer.status_code, list(answer.get_json()["errors"])) == (404, ["request"])


def test_the_current_plan_is_the_adopted_one_with_every_field(
    client: FlaskClient, session: Session, maker: Any, today: dt.date
) -> None:
    maker.target()
    first = make_plan(session, "Ana Seabra", today=today)
    second = make_plan(session, "Ana Seabra", today=today + dt.timedelta(days=1))
    adopt_plan(session, "Ana Seabra", plan_id=first.id)
    session.commit()
    assert client.get("/api/v1/plan").get_json() == plan_as_data(session, first)
    assert client.get(f"/api/v1/plans/{second.id}").get_json() == plan_as_data(session, second)
    assert client.get("/api/v1/plans/999999999999").status_code == 404


def test_who_decided_on_a_lot_and_why_stays_with_people(demo_client: FlaskClient) -> None:
    plan = demo_client.get("/api/v1/plan").get_json()
    on_lines = [lot["decision"] for line in plan["lines"] for lot in line["lots"] if lot["decision"]]

    assert {frozenset(each) for each in plan["decisions"]} == {frozenset({"kind", "on", "lot", "site"})}
    assert {frozenset(each) for each in on_lines} == {frozenset({"kind", "on"})}
