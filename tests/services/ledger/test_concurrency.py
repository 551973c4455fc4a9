"""Several people take from one lot at once: never below zero, and what was acknowledged is what is gone."""

from __future__ import annotations

import datetime as dt
import threading
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from nursery.database import make_sessions, writing
from nursery.errors import Conflict, Invalid
from nursery.models import Lot
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.services import ledger

TODAY = dt.date(2026, 11, 25)
WRITERS = 6


def together(engine: Engine, work: Any) -> list[Any]:
    """Run ``work(session, number)`` in threads that start at once, each in its own transaction."""
    sessions, barrier = make_sessions(engine), threading.Barrier(WRITERS)

    def run(number: int) -> Any:
        barrier.wait()
        with writing(sessions) as session:
            return work(session, number)

    with ThreadPoolExecutor(WRITERS) as pool:
        return list(pool.map(run, range(WRITERS)))


def test_a_lot_is_emptied_by_many_and_never_below_zero(engine: Engine, session: Session, maker: Any) -> None:
    lot_id = maker.lot(amount_mg=1000).id
    session.commit()

    def empty(session: Session, number: int) -> int:
        taken = 0
        while True:
            amount = 7 + number
            try:
                ledger.take_from_lot(
                    session, f"person {number}", lot=session.get_one(Lot, lot_id), kind=MovementKind.WITHDRAWN,
                    measure=Measure.SEED, amount=amount, happened_on=TODAY, today=TODAY,
                )  # fmt: skip
                session.commit()
            except Invalid:
                session.rollback()
                return taken
            taken += amount

    taken = together(engine, empty)

    session.expire_all()
    left = session.get_one(Lot, lot_id).amount_mg
    assert left is not None
    assert 0 <= left < 7 + WRITERS
    assert sum(taken) == 1000 - left
    assert session.scalar(select(func.sum(Movement.change))) == left
    assert ledger.wrong_balances(session) == []


def test_one_mistake_is_taken_back_once(engine: Engine, session: Session, maker: Any) -> None:
    lot = maker.lot(amount_mg=1000)
    act = ledger.take_from_lot(
        session, "Ana Seabra", lot=lot, kind=MovementKind.SAMPLED, measure=Measure.SEED, amount=400,
        happened_on=TODAY, today=TODAY,
    ).act  # fmt: skip
    session.commit()

    def take_back(session: Session, number: int) -> bool:
        try:
            ledger.reverse_act(session, f"person {number}", act=act, reason="twice", today=TODAY)
            session.commit()
        except Conflict:
            session.rollback()
            return False
        return True

    done = together(engine, take_back)

    session.expire_all()
    assert sum(done) == 1
    assert session.get_one(Lot, lot.id).amount_mg == 1000
