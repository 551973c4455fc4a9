"""The demo's plant health: a sick batch shut off, a treatment that keeps people out, a gutter that is blocked."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.services.demo.health import write_health
from nursery.services.health.glance import glance_at_health
from nursery.services.health.quarantine import standing_quarantine


@pytest.mark.parametrize("hour", [0, 12, 23])
def test_it_is_live_at_every_hour_of_its_day(session: Session, maker: Any, today: dt.date, hour: int) -> None:
    bench = maker.bench(nursery=maker.nursery())
    small, _large = maker.batch(bench=bench, alive=60), maker.batch(bench=bench, alive=900)

    write_health(session, "Ana Seabra", today)

    now = dt.datetime.combine(today, dt.time(hour)).astimezone()
    glance = glance_at_health(session, now=now)
    assert standing_quarantine(session, small) is not None
    assert [row.batch_id for row in glance.quarantines] == [small.id]
    assert [each.bench_id for each in glance.reentries] == [bench.id]
    assert [note.finding.value for note in glance.open_notes] == ["disease", "weeds"]
    assert [point.key for point in glance.hygiene[0].open_points] == ["drainage"]


def test_without_batches_the_walks_are_told_all_the_same(session: Session, maker: Any, today: dt.date) -> None:
    maker.nursery()

    write_health(session, "Ana Seabra", today)

    glance = glance_at_health(session, now=dt.datetime.combine(today, dt.time(9)).astimezone())
    assert [note.finding.value for note in glance.open_notes] == ["weeds"]
    assert (list(glance.quarantines), list(glance.reentries)) == ([], [])
