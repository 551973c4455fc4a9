"""What is open: on the home page, for a batch and a bench, and in one line for the season."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.models import Scouting
from nursery.models.health import Finding
from nursery.services.health.glance import glance_at_health, health_of_batch, season_note
from nursery.services.health.hygiene import KEYS, check_hygiene, standings
from nursery.services.health.quarantine import quarantine
from nursery.services.health.scouting import close_scouting, create_scouting, reopen_scouting
from tests.services.health.test_reentry import NOW, treat

Counting = Callable[[Engine], AbstractContextManager[list[str]]]


def see(session: Session, today: dt.date, **values: Any) -> Scouting:
    given = {"seen_on": today, "finding": Finding.PEST, "description": "Aphids", **values}
    return create_scouting(session, "Rui Melo", values=given, today=today)


def test_an_untouched_nursery_has_nothing_to_tell(session: Session) -> None:
    assert season_note(session, now=NOW) is None
    assert glance_at_health(session, now=NOW).is_begun is False


def test_the_season_hears_of_all_that_is_open_in_one_line(session: Session, maker: Any, today: dt.date) -> None:
    bench = maker.bench()
    see(session, today, bench_id=bench.id)
    see(session, today, bench_id=bench.id, description="Mites")
    note = season_note(session, now=NOW)
    assert note is not None
    assert (note.text, note.tone) == ("Plant health: 2 open findings.", "info")

    see(session, today, bench_id=bench.id, finding=Finding.SUSPECTED_NOTIFIABLE)
    quarantine(session, "Rui Melo", bench_id=bench.id, reason="Bleeding stem", since=today, today=today)
    treat(session, bench_id=bench.id)

    note = season_note(session, now=NOW)
    assert note is not None
    assert note.text == (
        "Plant health: 1 suspected notifiable organism, 2 open findings, 1 quarantine, 1 re-entry time running."
    )
    assert note.tone == "stop"


def test_what_is_closed_is_open_again_only_when_it_is_opened(session: Session, maker: Any, today: dt.date) -> None:
    row = see(session, today, bench_id=maker.bench().id)
    close_scouting(session, "Rui Melo", row=row, outcome="Washed off", today=today)
    assert season_note(session, now=NOW) is None
    with pytest.raises(Conflict, match="was closed on 25 Nov 2026 already"):
        close_scouting(session, "Rui Melo", row=row, outcome="Again", today=today)

    reopen_scouting(session, "Rui Melo", row=row)

    assert season_note(session, now=NOW) is not None
    with pytest.raises(Conflict, match="is open"):
        reopen_scouting(session, "Rui Melo", row=row)


def test_a_batch_knows_of_its_bench_and_of_nothing_else(session: Session, maker: Any, today: dt.date) -> None:
    bench = maker.bench()
    batch, other = maker.batch(bench=bench), maker.batch()
    own = see(session, today, batch_id=batch.id)
    of_bench = see(session, today, bench_id=bench.id, finding=Finding.SUSPECTED_NOTIFIABLE)
    see(session, today, batch_id=other.id)
    treat(session, batch_id=batch.id)

    health = health_of_batch(session, batch, now=NOW)

    assert list(health.open_notes) == [of_bench, own]
    assert (health.quarantine, health.last_seen, health.treatments, len(health.reentries)) == (None, today, 1, 1)


def test_more_that_is_open_costs_no_more_queries(
    session: Session, maker: Any, engine: Engine, today: dt.date, count_queries: Counting
) -> None:
    def open_one() -> None:
        batch = maker.batch(bench=maker.bench())
        see(session, today, batch_id=batch.id)
        treat(session, batch_id=batch.id)
        quarantine(session, "Rui Melo", batch_id=batch.id, reason="Wilting", since=today, today=today)

    open_one()
    session.expire_all()
    with count_queries(engine) as few:
        glance_at_health(session, now=NOW)
    for _number in range(6):
        open_one()
    session.expire_all()
    with count_queries(engine) as many:
        glance_at_health(session, now=NOW)

    assert len(few) == len(many)


def test_the_last_check_of_each_nursery_counts_whatever_order_they_were_written_in(
    session: Session, maker: Any, today: dt.date
) -> None:
    first, second = maker.nursery(name="Alder yard"), maker.nursery(name="Beech yard")

    def check(nursery: Any, day: int, **values: str) -> Any:
        return check_hygiene(
            session, "Rui Melo", nursery_id=nursery.id, answers={**dict.fromkeys(KEYS, "yes"), **values},
            checked_on=dt.date(2026, 11, day), today=today,
        )  # fmt: skip

    check(first, 20, boots="no")
    last = check(first, 20, tools="no", water="no")
    check(first, 3, waste="no")  # told afterwards

    found = standings(session)

    assert [(each.nursery.name, each.last) for each in found] == [("Alder yard", last), ("Beech yard", None)]
    assert [point.key for point in found[0].open_points] == ["tools", "water"]
    assert found[1].open_points == ()
    assert second.id == found[1].nursery.id
