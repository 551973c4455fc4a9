"""Every kind of record that some nursery has is refused to who is bound to another."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select, text
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Forbidden
from nursery.models import (
    Attachment,
    Base,
    Batch,
    Bench,
    Container,
    Count,
    Dispatch,
    DispatchLine,
    Expense,
    FetchedPlants,
    HygieneCheck,
    Nursery,
    Paper,
    Placement,
    Planting,
    PlantMovement,
    QualityCheck,
    Quarantine,
    ReturnedPlants,
    Scouting,
    Supply,
    SupplyMovement,
    Task,
    Treatment,
    WorkTime,
)
from nursery.models.supplies import SupplyMovementKind
from nursery.models.types import utc_now
from nursery.services import acting, auditing
from nursery.services.accounts.rights import Right
from nursery.services.acting import Acting, act_as
from nursery.services.batches.placing import place
from nursery.services.belonging import AFTERWARDS, COMMON, WAYS
from nursery.services.health.hygiene import check_hygiene
from nursery.services.health.hygiene_points import POINTS
from nursery.services.supplies.booking import unbooked
from nursery.services.supplies.stock import move
from tests.conftest import TODAY
from tests.policy.apart import OWN, PERSON, THEIRS

_BY_BATCH = "JOIN batches b ON b.id = t.batch_id WHERE b.nursery_id = 1"
_BY_LINE = "JOIN batches b ON b.id = l.batch_id WHERE b.nursery_id = 1"
#: How to find a record of the nursery 1, of each kind that a nursery can have.
THEIR_OWN: dict[type[Base], str] = {
    Container: "WHERE t.nursery_id = 1",
    Bench: "WHERE t.nursery_id = 1",
    Batch: "WHERE t.nursery_id = 1",
    Placement: _BY_BATCH,
    PlantMovement: _BY_BATCH,
    Count: _BY_BATCH,
    QualityCheck: _BY_BATCH,
    Expense: _BY_BATCH,
    WorkTime: _BY_BATCH,
    Planting: _BY_BATCH,
    DispatchLine: _BY_BATCH,
    Quarantine: _BY_BATCH,
    FetchedPlants: "JOIN dispatch_lines l ON l.id = t.line_id " + _BY_LINE,
    ReturnedPlants: "JOIN dispatch_lines l ON l.id = t.line_id " + _BY_LINE,
    Dispatch: "JOIN dispatch_lines l ON l.dispatch_id = t.id " + _BY_LINE,
    Paper: "JOIN dispatch_lines l ON l.dispatch_id = t.dispatch_id " + _BY_LINE,
    Scouting: "JOIN benches b ON b.id = t.bench_id WHERE b.nursery_id = 1",
    Treatment: "JOIN benches b ON b.id = t.bench_id WHERE b.nursery_id = 1",
    HygieneCheck: "WHERE t.nursery_id = 1",
    Task: "WHERE t.nursery_id = 1 AND t.batch_id IS NULL",
    Supply: "JOIN containers c ON c.id = t.container_id WHERE c.nursery_id = 1",
    SupplyMovement: (
        "JOIN supplies s ON s.id = t.supply_id JOIN containers c ON c.id = s.container_id WHERE c.nursery_id = 1"
    ),
    Attachment: "JOIN scoutings s ON t.subject = 'scoutings' AND s.id = t.subject_id WHERE s.nursery_id = 1",
}
MY_OWN = Acting(1, "Bound", frozenset(Right), OWN)


@pytest.fixture
def bound(apart: tuple[Flask, Session]) -> Iterator[Session]:
    """A session in which somebody acts who is bound to the other nursery; nothing of it stays."""
    with Session(apart[1].get_bind()) as session:
        act_as(session, MY_OWN)
        yield session


@contextmanager
def expect_refusal() -> Iterator[None]:
    with pytest.raises(Forbidden, match=r"^This belongs to the nursery Pelindra home nursery; your account may"):
        yield


def theirs(session: Session, model: type[Base]) -> Any:
    query = text(f"SELECT t.id FROM {model.__tablename__} t {THEIR_OWN[model]} ORDER BY t.id LIMIT 1")  # noqa: S608 -- words of this file
    return session.get_one(model, session.scalar(query))


def test_of_every_kind_of_record_somebody_said_whose_it_is() -> None:
    kinds = {mapper.class_ for mapper in Base.registry.mappers}

    assert kinds - {Nursery} == WAYS.keys() | COMMON
    assert WAYS.keys() & COMMON == set()
    assert THEIR_OWN.keys() == WAYS.keys()


def test_what_has_no_nursery_does_not_lead_to_one_by_mistake() -> None:
    """Of these columns somebody thought when the kinds were said to be common."""
    leading = {"nurseries", "benches", "batches", "containers", "dispatches", "dispatch_lines", "tasks"}
    found = {
        f"{model.__tablename__}.{column.name}"
        for model in COMMON for column in model.__table__.columns for key in column.foreign_keys
        if key.column.table.name in leading
    }  # fmt: skip

    assert found == {
        "accounts.nursery_id",  # what it may change, not whose it is
        "plan_lines.container_id", "targets.container_id",  # where the plan has it grown
    }  # fmt: skip


@pytest.mark.parametrize("model", WAYS, ids=lambda model: model.__tablename__)
def test_a_record_of_another_nursery_is_refused(bound: Session, model: type[Base]) -> None:
    with expect_refusal():
        acting.must_reach(bound, theirs(bound, model))


def test_an_archived_nurserys_records_are_left_but_for_what_is_told_afterwards(bound: Session) -> None:
    act_as(bound, Acting(1, "Free", frozenset(Right)))
    bound.get_one(Nursery, THEIRS).archived_at = utc_now()
    met = {}
    for model in WAYS:
        try:
            acting.must_reach(bound, theirs(bound, model))
            met[model] = True
        except Conflict:
            met[model] = False

    assert {model for model, through in met.items() if through} == AFTERWARDS


def test_writing_ones_own_nursery_on_anothers_bench_does_not_make_it_ones_own(bound: Session) -> None:
    bench = theirs(bound, Bench)
    bench.nursery_id = OWN
    with expect_refusal():
        auditing.record(bound, PERSON, action="changed", row=bench)


def test_trays_are_put_on_no_bench_of_another_nursery(bound: Session) -> None:
    batch = bound.scalars(
        select(Batch).where(Batch.nursery_id == OWN, Batch.archived_at.is_(None), Batch.alive > 0).limit(1)
    ).one()
    batch.trays += 1
    bound.flush()
    bench = bound.scalars(select(Bench).where(Bench.nursery_id == THEIRS, Bench.archived_at.is_(None))).first()
    assert bench is not None
    with expect_refusal():
        place(bound, PERSON, batch=batch, bench_id=bench.id, trays=1, from_on=TODAY, today=TODAY)


def test_what_all_have_is_not_used_up_for_another_nurserys_batch(bound: Session) -> None:
    mix = bound.scalars(select(Supply).where(Supply.name == "Bark mix of the shed")).one()
    act = {"kind": SupplyMovementKind.USED, "amount": 2.0, "happened_on": TODAY, "today": TODAY}
    with expect_refusal():
        move(bound, PERSON, supply=mix, batch_id=theirs(bound, Batch).id, **act)
    bound.rollback()
    own = bound.scalar(select(Batch.id).where(Batch.nursery_id == OWN).limit(1))

    assert move(bound, PERSON, supply=mix, batch_id=own, **act) is not None


def test_booking_leaves_sowings_of_other_nurseries_to_others(bound: Session) -> None:
    mix = bound.scalars(select(Supply).where(Supply.name == "Bark mix of the shed")).one()
    tomorrow = TODAY + dt.timedelta(days=1)
    for nursery_id in (THEIRS, OWN):
        sown = bound.scalars(
            select(Batch)
            .where(Batch.nursery_id == nursery_id, Batch.archived_at.is_(None), Batch.trays > 0)
            .limit(1)
        ).one()
        sown.sown_on = tomorrow  # after the substrate was counted
    own = {batch.nursery_id for batch, _litres in unbooked(bound, mix, today=tomorrow)}
    act_as(bound, Acting(1, "Free", frozenset(Right)))
    every = {batch.nursery_id for batch, _litres in unbooked(bound, mix, today=tomorrow)}

    assert (own, every >= {THEIRS, OWN}) == ({OWN}, True)


def test_nobody_goes_through_the_hygiene_of_another_nursery(bound: Session) -> None:
    answers = {point.key: "yes" for point in POINTS}
    with expect_refusal():
        check_hygiene(bound, PERSON, nursery_id=THEIRS, answers=answers, checked_on=TODAY, today=TODAY)
    bound.rollback()
    made = check_hygiene(bound, PERSON, nursery_id=OWN, answers=answers, checked_on=TODAY, today=TODAY)

    assert made.nursery_id == OWN


def test_many_records_written_at_once_are_asked_for_one_by_one(bound: Session) -> None:
    bench = theirs(bound, Bench)
    own = bound.scalar(select(Bench.id).where(Bench.nursery_id == OWN).limit(1))
    auditing.record_many(bound, PERSON, action="imported", subject="benches", details={own: {"area_m2": [1, 2]}})
    with expect_refusal():
        auditing.record_many(
            bound, PERSON, action="imported", subject="benches", details={bench.id: {"area_m2": [1, 2]}}
        )
    with expect_refusal():
        auditing.record_many(
            bound, PERSON, action="imported", subject="benches", details={own: {"nursery_id": [THEIRS, OWN]}}
        )
