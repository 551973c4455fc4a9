"""Several people write at once: never below zero, and what was acknowledged is what is gone."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Batch, PlantMovement
from nursery.planning.growing.words import Cause
from nursery.services import batches
from tests.services.batches.conftest import TODAY, Floor
from tests.services.ledger.test_concurrency import WRITERS, together

DAY = dt.date(2026, 10, 20)
WHEN: dict[str, Any] = {"happened_on": DAY, "today": TODAY}


def test_a_batch_is_emptied_by_many_and_never_below_zero(engine: Engine, session: Session, floor: Floor) -> None:
    batch, site_id = floor.counted(300), floor.site.id
    session.commit()

    def empty(session: Session, number: int) -> int:
        taken = 0
        while True:
            plants, person, row = 7 + number, f"person {number}", session.get_one(Batch, batch.id)
            try:
                if number % 2:
                    batches.dispatch(session, person, batch=row, site_id=site_id, plants=plants, **WHEN)
                else:
                    batches.lose(session, person, batch=row, plants=plants, cause=Cause.PEST, **WHEN)
                session.commit()
            except Invalid:
                session.rollback()
                return taken
            taken += plants

    taken = together(engine, empty)

    session.expire_all()
    left = session.get_one(Batch, batch.id).alive
    assert 0 <= left < 7 + WRITERS
    assert sum(taken) == 300 - left
    assert session.scalar(select(func.sum(PlantMovement.change))) == left
    assert batches.wrong_plant_balances(session) == []


def test_one_mistake_is_taken_back_once(engine: Engine, session: Session, floor: Floor) -> None:
    batch = floor.counted(300)
    act = batches.lose(session, "Ana Seabra", batch=batch, plants=40, cause=Cause.PEST, **WHEN).act
    session.commit()

    def take_back(session: Session, number: int) -> bool:
        try:
            batches.reverse_act(session, f"person {number}", act=act, reason="twice", today=TODAY)
            session.commit()
        except Conflict:
            session.rollback()
            return False
        return True

    done = together(engine, take_back)

    session.expire_all()
    assert (sum(done), session.get_one(Batch, batch.id).alive) == (1, 300)


def test_two_counts_at_once_leave_what_the_later_one_saw(engine: Engine, session: Session, floor: Floor) -> None:
    batch = floor.counted(300)
    session.commit()

    def count(session: Session, number: int) -> int:
        row = session.get_one(Batch, batch.id)
        made = batches.record_count(
            session, f"person {number}", batch=row, stage=row.stage, counted_on=DAY, today=TODAY,
            plants=250 + number,
        )  # fmt: skip
        session.commit()
        return made.id

    together(engine, count)

    session.expire_all()
    counts = session.get_one(Batch, batch.id).counts
    assert len(counts) == WRITERS + 1
    assert session.get_one(Batch, batch.id).alive == counts[-1].plants
    assert batches.wrong_plant_balances(session) == []
