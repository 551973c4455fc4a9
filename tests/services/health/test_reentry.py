"""Re-entry times: who meets them, from when, until when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Treatment
from nursery.services.health.glance import health_of_bench
from nursery.services.health.reentry import reentries_of_batches, running_reentries
from nursery.services.health.treating import change_treatment, create_treatment, lacking

NOW = dt.datetime(2026, 11, 25, 9, 0, tzinfo=dt.UTC)
HOUR = dt.timedelta(hours=1)
Counting = Callable[[Engine], AbstractContextManager[list[str]]]


def treat(
    session: Session, *, ago: float = 1, hours: float | None = 12, now: dt.datetime = NOW, **values: Any
) -> Treatment:
    at = NOW - ago * HOUR
    given = {
        "treated_at": at,
        "reentry_at": None if hours is None else at + hours * HOUR,
        "product": "Sulphur 80",
        "dose": 2.0,
        "dose_unit": "g per l",
        **values,
    }
    return create_treatment(session, "Ana Seabra", values=given, now=NOW)


@pytest.mark.parametrize(
    ("after", "runs"),
    [(-1.01, False), (-1, True), (0, True), (10.99, True), (11, False), (30, False)],
)
def test_it_runs_from_the_treatment_to_the_last_moment_before_its_end(
    session: Session, maker: Any, after: float, runs: bool
) -> None:
    treat(session, bench_id=maker.bench().id)

    assert bool(running_reentries(session, now=NOW + after * HOUR)) is runs


def test_it_is_told_with_place_product_and_end(session: Session, maker: Any) -> None:
    treat(session, bench_id=maker.bench(name="North 2").id)
    here = (NOW + 11 * HOUR).astimezone()

    (running,) = running_reentries(session, now=NOW)

    assert running.sentence == (
        f"Bench North 2 was treated with Sulphur 80: nobody goes in before {here.day} Nov 2026, {here:%H:%M}"
        " without the protection that the label asks for."
    )


def test_the_one_that_ends_first_is_on_top_without_those_put_aside(session: Session, maker: Any) -> None:
    bench = maker.bench()
    late, soon = treat(session, bench_id=bench.id, hours=48), treat(session, bench_id=bench.id, hours=4)
    treat(session, bench_id=bench.id, hours=None)
    treat(session, bench_id=bench.id, hours=3).archived_at = NOW
    session.flush()

    assert [each.treatment_id for each in running_reentries(session, now=NOW)] == [soon.id, late.id]


def test_a_batch_meets_those_of_itself_its_bench_and_its_nursery(session: Session, maker: Any) -> None:
    yard, other = maker.nursery(), maker.nursery()
    bench, next_bench = maker.bench(nursery=yard), maker.bench(nursery=yard)
    batch, neighbour, far = (
        maker.batch(bench=bench),
        maker.batch(bench=next_bench),
        maker.batch(nursery_id=other.id),
    )
    of_batch = treat(session, batch_id=batch.id, nursery_id=yard.id)
    of_bench = treat(session, bench_id=bench.id)
    of_yard = treat(session, nursery_id=yard.id)
    of_other = treat(session, nursery_id=other.id)

    found = reentries_of_batches(session, [batch.id, neighbour.id, far.id], now=NOW)

    told = {batch_id: {each.treatment_id for each in met} for batch_id, met in found.items()}
    assert told == {
        batch.id: {of_batch.id, of_bench.id, of_yard.id},
        neighbour.id: {of_yard.id},
        far.id: {of_other.id},
    }


def test_a_bench_meets_that_of_a_batch_that_stands_on_it(session: Session, maker: Any) -> None:
    bench = maker.bench()
    batch, left = maker.batch(bench=bench), maker.batch(bench=bench)
    left.placements[0].until_on = dt.date(2026, 11, 20)
    treated = treat(session, batch_id=batch.id)
    treat(session, batch_id=left.id)

    health = health_of_bench(session, bench, now=NOW)

    assert [each.treatment_id for each in health.reentries] == [treated.id]


def test_many_batches_cost_no_more_queries_than_one(
    session: Session,
    maker: Any,
    engine: Engine,
    count_queries: Callable[[Engine], AbstractContextManager[list[str]]],
) -> None:
    bench = maker.bench()
    batches = [maker.batch(bench=bench).id for _number in range(10)]
    treat(session, bench_id=bench.id)

    with count_queries(engine) as one:
        reentries_of_batches(session, batches[:1], now=NOW)
    with count_queries(engine) as ten:
        reentries_of_batches(session, batches, now=NOW)

    assert len(one) == len(ten) == 3


def test_a_treatment_to_come_or_ended_before_it_began_is_refused(session: Session, maker: Any) -> None:
    bench = maker.bench()

    with pytest.raises(Invalid) as to_come:
        treat(session, bench_id=bench.id, ago=-0.1)
    with pytest.raises(Invalid) as backward:
        treat(session, bench_id=bench.id, hours=-0.1)

    assert (list(to_come.value.errors), list(backward.value.errors)) == (["treated_at"], ["reentry_at"])


def test_a_change_is_checked_as_the_entry_was(session: Session, maker: Any) -> None:
    row = treat(session, bench_id=maker.bench().id)

    with pytest.raises(Invalid) as refused:
        change_treatment(session, "Ana Seabra", row=row, values={"bench_id": None}, now=NOW)

    assert list(refused.value.errors) == ["batch_id"]


def test_what_the_entry_lacks_is_told(session: Session, maker: Any) -> None:
    bench = maker.bench().id
    bare = treat(session, bench_id=bench, hours=None)
    particulars = {"registration_number": "R-1", "area_m2": 12.0, "against": "mildew", "certificate": "C-7"}
    full = treat(session, bench_id=bench, hours=0, **particulars)

    assert len(lacking(bare)) == 5
    assert lacking(full) == []
    assert bare.applied_by == "Ana Seabra"
