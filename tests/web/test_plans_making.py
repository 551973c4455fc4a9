"""Long plans are made beside the request, and the page says how far they are."""

from __future__ import annotations

import datetime as dt
import threading
import time
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import func, select
from sqlalchemy.orm import Session
from werkzeug.test import TestResponse

from nursery.models import Plan
from nursery.web.works import Works
from tests.web.test_plans import write_down


@pytest.fixture
def long_client(app: Flask, client: Any) -> Any:
    app.config["NURSERY_LONG_PLAN"] = 2
    return client


def wait_for(client: Any, address: str) -> TestResponse:
    for _again in range(400):
        answer: TestResponse = client.get(address)
        if answer.status_code != 200 or "Refresh" not in answer.headers:
            return answer
        assert answer.headers["Refresh"] == "2"
        assert "The plan is being made" in answer.text
        time.sleep(0.05)
    raise AssertionError("the plan was never made")


def test_a_long_plan_leads_over_its_progress_to_the_plan(long_client: Any, session: Session, maker: Any) -> None:
    write_down(maker, 3)
    session.commit()

    started = long_client.submit("/plans", {"label": "Long one"})
    assert started.status_code == 303
    assert started.location.startswith("/plans/making/")
    done = wait_for(long_client, started.location)

    plan = session.scalars(select(Plan)).one()
    assert (done.status_code, done.location, plan.label) == (303, f"/plans/{plan.id}", "Long one")
    assert "The plan “Long one” is made." in long_client.get(done.location).text

    again = long_client.submit("/plans", {"label": "The same"})
    same = wait_for(long_client, again.location)
    assert same.location == done.location
    assert "Nothing has changed" in long_client.get(same.location).text
    assert session.scalar(select(func.count()).select_from(Plan)) == 1


def test_few_targets_are_planned_in_the_request(client: Any, session: Session, maker: Any) -> None:
    write_down(maker, 3)
    session.commit()
    made = client.submit("/plans", {"label": "Short one"})
    assert made.location == f"/plans/{session.scalars(select(Plan.id)).one()}"


def test_trouble_is_told_in_words(app: Flask, client: Any, today: dt.date) -> None:
    app.config["NURSERY_LONG_PLAN"] = -1
    started = client.submit("/plans")
    told = wait_for(client, started.location)
    assert told.status_code == 200
    assert "There is no target to plan for." in told.text


def test_an_address_that_is_forgotten_leads_to_the_list(client: Any) -> None:
    answer = client.get("/plans/making/nothing")
    assert (answer.status_code, answer.location) == (303, "/plans")
    assert "No plan is being made under that address any more." in client.get("/plans").text


def test_who_asks_while_a_plan_is_being_made_is_told_that_no_other_was_begun(
    app: Flask, long_client: Any, session: Session, maker: Any
) -> None:
    write_down(maker, 3)
    session.commit()
    hold = threading.Event()
    works = app.extensions.setdefault("nursery_works", {}).setdefault("plans", Works())
    going, _is_own = works.begin(lambda _work: hold.wait(10) and None)

    answer = long_client.submit("/plans", {"label": "Mine"})

    assert answer.location == f"/plans/making/{going.token}"
    assert "so no other was begun" in long_client.get(answer.location).text
    going.trouble = "over"
    hold.set()
    assert session.scalar(select(func.count()).select_from(Plan)) == 0
