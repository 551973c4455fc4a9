"""Acts over HTTP: they do what the pages do, refuse what the pages refuse, and need a token."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Account, Batch, Change, Count, Lot, PlantMovement, SeedTest, Task
from nursery.models.accounts import Scope
from nursery.planning.work.words import TaskStatus
from nursery.services.accounts.api_tokens import make_token
from tests.conftest import TODAY


@pytest.fixture
def growing(demo_records: Session) -> Batch:
    return demo_records.scalars(select(Batch).where(Batch.alive > 50, Batch.archived_at.is_(None))).first()  # type: ignore[return-value]


def test_a_loss_leaves_the_batch_and_its_history(
    demo_client: FlaskClient, demo_records: Session, growing: Batch
) -> None:
    before = growing.alive
    answer = demo_client.post(
        f"/api/v1/batches/{growing.id}/losses", json={"plants": 7, "cause": "drought", "reason": "fan stood still"}
    )
    demo_records.rollback()
    moved = demo_records.get_one(PlantMovement, answer.get_json()["id"])

    assert answer.status_code == 201
    assert answer.get_json() == {"id": moved.id, "plants": 7, "alive": before - 7, "trays": growing.trays}
    assert (moved.change, moved.cause, moved.reason, moved.happened_on, moved.person) == (
        -7, "drought", "fan stood still", TODAY, "Ana Seabra",
    )  # fmt: skip
    assert growing.alive == before - 7


def test_a_count_is_written_as_counted(demo_client: FlaskClient, demo_records: Session, growing: Batch) -> None:
    answer = demo_client.post(
        f"/api/v1/batches/{growing.id}/counts",
        json={
            "stage": growing.stage.value, "plants": growing.alive - 3, "grades": [{"name": "small", "plants": 5}],
        },
    )  # fmt: skip
    demo_records.rollback()
    count = demo_records.get_one(Count, answer.get_json()["id"])

    assert answer.status_code == 201
    assert (count.plants, count.counted_on, count.grades) == (answer.get_json()["alive"], TODAY, {"small": 5})


def test_a_count_needs_all_plants_or_a_sample(demo_client: FlaskClient, growing: Batch) -> None:
    sent = {"stage": growing.stage.value, "plants": 10, "sample": [3, 4]}
    answer = demo_client.post(f"/api/v1/batches/{growing.id}/counts", json=sent)

    assert answer.status_code == 422
    assert {"plants", "sample"} & set(answer.get_json()["errors"])


def test_a_germination_test_is_judged_and_takes_its_seed(
    client: FlaskClient, app: Flask, session: Session, maker: Any
) -> None:
    app.config["WTF_CSRF_ENABLED"] = False
    lot = maker.lot(amount_mg=500_000, tsw_g=10.0)
    session.commit()
    answer = client.post(
        f"/api/v1/lots/{lot.id}/germination-tests",
        json={"counts": [88, 90, 91, 89], "seeds": 100, "taken": 4, "tested_on": "2026-11-20"},
    )
    session.expire_all()
    test = session.get_one(SeedTest, answer.get_json()["id"])

    assert answer.status_code == 201
    assert (answer.get_json()["accepted"], round(answer.get_json()["result"], 4)) == (True, 0.895)
    assert (test.tested_on, test.readings["counts"]) == (dt.date(2026, 11, 20), [88, 90, 91, 89])
    assert session.get_one(Lot, lot.id).amount_mg == 496_000


def test_a_task_is_done_or_partly_done(demo_client: FlaskClient, demo_records: Session) -> None:
    tasks = demo_records.scalars(
        select(Task).where(Task.status == TaskStatus.OPEN, Task.amount > 2, Task.due_on <= TODAY).limit(2)
    ).all()
    done = demo_client.post(f"/api/v1/tasks/{tasks[0].id}/done", json={})
    partly = demo_client.post(f"/api/v1/tasks/{tasks[1].id}/done", json={"amount": 1})
    again = demo_client.post(f"/api/v1/tasks/{tasks[0].id}/done", json={})

    assert (done.status_code, done.get_json()["status"]) == (201, "done")
    assert (partly.status_code, partly.get_json()["status"]) == (201, "partly")
    assert (again.status_code, list(again.get_json()["errors"])) == (409, ["request"])


@pytest.mark.parametrize(
    ("sent", "fields"),
    [
        ({}, ["plants"]),
        ({"plants": 0}, ["plants"]),
        ({"plants": 1.5}, ["plants"]),
        ({"plants": "1e309"}, ["plants"]),
        ({"plants": 10_000_001}, ["plants"]),
        ({"plants": 1, "cause": "dragons"}, ["cause"]),
        ({"plants": 1, "happened_on": "2027-01-01"}, ["happened_on"]),
        ({"plants": 1, "plant": 2}, ["plant"]),
        ([], ["input"]),
    ],
)
def test_what_is_refused_is_named_and_nothing_is_written(
    demo_client: FlaskClient, demo_records: Session, growing: Batch, sent: Any, fields: list[str]
) -> None:
    def state() -> list[Any]:
        demo_records.rollback()
        return [demo_records.scalar(select(func.count(model.id))) for model in (PlantMovement, Change)]

    before = state()
    answer = demo_client.post(f"/api/v1/batches/{growing.id}/losses", json=sent)

    assert (answer.status_code, list(answer.get_json()["errors"])) == (422, fields)
    assert state() == before


def test_an_archived_batch_takes_nothing(client: FlaskClient, app: Flask, session: Session, maker: Any) -> None:
    from nursery.services import records

    app.config["WTF_CSRF_ENABLED"] = False
    batch = records.archive(session, "Ana Seabra", maker.batch())
    session.commit()
    answer = client.post(f"/api/v1/batches/{batch.id}/losses", json={"plants": 1})

    assert (answer.status_code, list(answer.get_json()["errors"])) == (422, ["record"])


@pytest.fixture
def guarded(app: Flask, session: Session, maker: Any) -> tuple[FlaskClient, str]:
    """The address of a loss in an application that checks tokens, as all do outside tests."""
    batch = maker.batch()
    session.commit()
    return app.test_client(), f"/api/v1/batches/{batch.id}/losses"


def test_a_call_without_any_token_is_refused(guarded: tuple[FlaskClient, str]) -> None:
    client, path = guarded
    answer = client.post(path, json={"plants": 1})

    assert (answer.status_code, list(answer.get_json()["errors"])) == (403, ["request"])


@pytest.mark.parametrize(("scope", "expected"), [(Scope.READ, (403, "request")), (Scope.WRITE, (422, "plants"))])
def test_a_call_with_a_token_of_its_own_needs_no_form(
    app: Flask, session: Session, guarded: tuple[FlaskClient, str], scope: Scope, expected: tuple[int, str]
) -> None:
    _client, path = guarded
    account = session.scalars(select(Account)).one()
    _row, secret = make_token(
        session, account.name, account=account, name="sheet", scope=scope, ends_on=TODAY, today=TODAY
    )
    session.commit()
    stranger = FlaskClient(app)
    answer = stranger.post(path, json={"plants": 1}, headers={"Authorization": f"Bearer {secret}"})

    assert (answer.status_code, next(iter(answer.get_json()["errors"]))) == expected
    assert stranger.post(path, json={"plants": 1}).status_code in {401, 403}
