"""Quarantine: begun and lifted with a reason, told of a batch whether it is its own or that of its bench."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid, NotFound
from nursery.models import Batch, Change, Quarantine
from nursery.services.health.quarantine import (
    all_standing,
    bench_quarantine,
    lift,
    quarantine,
    refuse_shut_off,
    standing_quarantine,
    standing_quarantines,
)

BEFORE = dt.date(2026, 11, 20)
Counting = Callable[[Engine], AbstractContextManager[list[str]]]


def shut(session: Session, today: dt.date, **values: Any) -> Quarantine:
    given = {"reason": "Wilted shoots, brown roots", "since": BEFORE, **values}
    return quarantine(session, "Ana Seabra", today=today, **given)


def test_a_batch_is_shut_off_until_somebody_lifts_it_with_a_reason(
    session: Session, maker: Any, today: dt.date
) -> None:
    batch = maker.batch()
    row = shut(session, today, batch_id=batch.id)

    assert standing_quarantine(session, batch) is row
    lift(session, "Rui Melo", quarantine_id=row.id, reason="Roots washed and looked at: overwatered", today=today)

    assert standing_quarantine(session, batch) is None
    assert (row.lifted_by, row.lifted_reason) == ("Rui Melo", "Roots washed and looked at: overwatered")
    assert row.lifted_at is not None
    assert row.lifted_at.date() == today
    changes = session.scalars(select(Change).where(Change.subject == "batches").order_by(Change.id)).all()
    assert [(change.person, change.action) for change in changes] == [
        ("Ana Seabra", "quarantined"),
        ("Rui Melo", "quarantine lifted"),
    ]


def test_a_bench_holds_what_stands_on_it_and_not_what_has_left(
    session: Session, maker: Any, today: dt.date
) -> None:
    bench = maker.bench()
    stands, left, elsewhere = maker.batch(bench=bench), maker.batch(bench=bench), maker.batch(bench=maker.bench())
    left.placements[0].until_on = BEFORE
    row = shut(session, today, bench_id=bench.id)

    assert [standing_quarantine(session, batch) for batch in (stands, left, elsewhere)] == [row, None, None]
    assert bench_quarantine(session, bench.id) is row


def test_the_batchs_own_quarantine_is_told_before_that_of_its_bench(
    session: Session, maker: Any, today: dt.date
) -> None:
    bench = maker.bench()
    batch = maker.batch(bench=bench)
    of_bench = shut(session, today, bench_id=bench.id)
    own = shut(session, today, batch_id=batch.id, since=today)

    assert standing_quarantine(session, batch) is own
    assert list(all_standing(session)) == [of_bench, own]
    lift(session, "Ana Seabra", quarantine_id=own.id, reason="Looked at", today=today)
    assert standing_quarantine(session, batch) is of_bench


def test_many_batches_cost_no_more_queries_than_one(
    session: Session,
    maker: Any,
    engine: Engine,
    today: dt.date,
    count_queries: Callable[..., AbstractContextManager],
) -> None:
    bench = maker.bench()
    batches = [maker.batch(bench=bench) for _number in range(12)]
    held = shut(session, today, bench_id=bench.id)

    with count_queries(engine) as one:
        standing_quarantines(session, [batches[0].id])
    with count_queries(engine) as twelve:
        found = standing_quarantines(session, [batch.id for batch in batches])

    assert len(one) == len(twelve) == 2
    assert found == {batch.id: held for batch in batches}


def test_what_is_shut_off_already_is_not_shut_off_twice(session: Session, maker: Any, today: dt.date) -> None:
    batch = maker.batch(code="B-7")
    shut(session, today, batch_id=batch.id)

    with pytest.raises(Conflict, match=r"Batch B-7 has been in quarantine since 20 Nov 2026 \(Wilted shoots"):
        shut(session, today, batch_id=batch.id)


def test_what_was_let_out_can_be_shut_off_again(session: Session, maker: Any, today: dt.date) -> None:
    batch = maker.batch()
    first = shut(session, today, batch_id=batch.id)
    lift(session, "Ana Seabra", quarantine_id=first.id, reason="Healthy", today=today)

    assert standing_quarantine(session, batch) is None
    second = shut(session, today, batch_id=batch.id, reason="Wilting again")
    assert standing_quarantine(session, batch) is second
    with pytest.raises(Conflict, match="lifted already"):
        lift(session, "Ana Seabra", quarantine_id=first.id, reason="Healthy", today=today)


@pytest.mark.parametrize(
    ("values", "refused"),
    [
        ({"reason": "  \0 "}, "reason"),
        ({"reason": "x" * 2001}, "reason"),
        ({"since": dt.date(2026, 11, 26)}, "since"),
    ],
)
def test_a_quarantine_needs_a_reason_and_a_day_that_has_come(
    session: Session, maker: Any, today: dt.date, values: dict[str, Any], refused: str
) -> None:
    batch = maker.batch()

    with pytest.raises(Invalid) as error:
        shut(session, today, batch_id=batch.id, **values)

    assert list(error.value.errors) == [refused]
    assert session.scalars(select(Quarantine)).all() == []


def test_a_quarantine_is_of_one_place_that_there_is(session: Session, maker: Any, today: dt.date) -> None:
    batch, bench = maker.batch(), maker.bench()

    with pytest.raises(Invalid, match="either a batch or a bench"):
        shut(session, today)
    with pytest.raises(Invalid, match="either a batch or a bench"):
        shut(session, today, batch_id=batch.id, bench_id=bench.id)
    with pytest.raises(NotFound):
        shut(session, today, batch_id=batch.id + 99)
    with pytest.raises(NotFound):
        lift(session, "Ana Seabra", quarantine_id=4, reason="Healthy", today=today)


def test_lifting_needs_a_reason_and_leaves_it_standing_without(
    session: Session, maker: Any, today: dt.date
) -> None:
    batch = maker.batch()
    row = shut(session, today, batch_id=batch.id)

    with pytest.raises(Invalid) as error:
        lift(session, "Ana Seabra", quarantine_id=row.id, reason=" ", today=today)

    assert list(error.value.errors) == ["reason"]
    assert standing_quarantine(session, batch) is row


def test_what_is_shut_off_is_refused_with_the_reason_and_the_way_out(
    session: Session, maker: Any, today: dt.date
) -> None:
    bench = maker.bench(name="North 2")
    batch: Batch = maker.batch(bench=bench)
    refuse_shut_off(session, batch)
    shut(session, today, bench_id=bench.id, reason="Brown roots.")

    with pytest.raises(Conflict) as refused:
        refuse_shut_off(session, batch)

    assert str(refused.value) == (
        "Bench North 2 has been in quarantine since 20 Nov 2026: Brown roots. Nothing leaves it until"
        " somebody lifts the quarantine, with a reason, under Health."
    )
