from __future__ import annotations

import datetime as dt

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.i18n import format_date
from nursery.models.plans import LineStatus
from nursery.services import records
from nursery.services.season import FirstSteps, Freshness, SpeciesForecast, first_steps, glance_at_season
from tests.conftest import Maker
from tests.plan_lines import add_line, add_need, make_kept_plan, phases_of

GROWING = (("emergence", 30), ("growing", 200))


def late(day: dt.date) -> list[dict[str, object]]:
    return [
        {"code": "late", "number": None, "day": day.isoformat(), "text": ""},
        {"code": "buy-in", "number": 90.0, "day": None, "text": ""},
    ]


def test_without_a_plan_there_is_nothing_to_glance_at(session: Session, today: dt.date) -> None:
    assert glance_at_season(session, today=today) is None


def test_first_steps_say_what_is_recorded_already(session: Session, maker: Maker, today: dt.date) -> None:
    before = first_steps(session)
    maker.site()
    put_aside = maker.lot()
    records.archive(session, "Ana Seabra", row=put_aside)

    assert before == FirstSteps(populations=False, lots=False, sites=False, targets=False, containers=False)
    assert first_steps(session) == FirstSteps(
        populations=True, lots=False, sites=True, targets=False, containers=False
    )


def test_tasks_fall_into_past_this_and_next_week(session: Session, maker: Maker, today: dt.date) -> None:
    plan = make_kept_plan(session, dt.date(2026, 11, 10))
    for day in (
        dt.date(2026, 11, 9),
        dt.date(2026, 11, 12),
        today,
        today + dt.timedelta(7),
        dt.date(2026, 12, 15),
    ):
        add_line(maker, plan, phases_of(day, ("emergence", 300)))

    glance = glance_at_season(session, today=today)

    assert glance is not None
    assert [task.starts_on for task in glance.overdue] == [dt.date(2026, 11, 12)]
    assert [task.starts_on for task in glance.this_week] == [today]
    assert [task.starts_on for task in glance.next_week] == [today + dt.timedelta(7)]
    assert glance.next_task is not None
    assert glance.next_task.starts_on == dt.date(2026, 12, 15)


def test_collections_are_ordered_by_their_last_day(session: Session, maker: Maker, today: dt.date) -> None:
    plan = make_kept_plan(session, today)
    for closes in (40, 5, 20):
        add_need(maker, plan, today, today + dt.timedelta(closes))

    glance = glance_at_season(session, today=today)

    assert glance is not None
    assert [(need.closes_on - today).days for need in glance.needs] == [5, 20, 40]


def test_the_largest_lack_comes_first_with_its_reason_and_ways_out(
    session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    phases = phases_of(dt.date(2026, 6, 1), *GROWING)
    small = add_line(maker, plan, phases, status=LineStatus.LATE, shortfall=90, problems=late(dt.date(2026, 6, 1)))
    large = add_line(maker, plan, phases, status=LineStatus.SHORT, shortfall=300)
    add_line(maker, plan, phases)

    glance = glance_at_season(session, today=today)

    assert glance is not None
    assert [short.line.id for short in glance.shortfalls] == [large.id, small.id]
    day = format_date(dt.date(2026, 6, 1))
    assert glance.shortfalls[1].reasons == [
        f"Work would have had to begin on {day}: it can no longer be ready in this season."
    ]
    assert glance.shortfalls[1].ways_out == ["90 plants of a lawful origin could be bought in."]
    assert glance.falling_short == 2


def test_the_forecast_is_of_the_next_season_and_the_least_covered_comes_first(
    session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    soon, over = phases_of(dt.date(2027, 2, 1), *GROWING), phases_of(dt.date(2026, 2, 1), *GROWING)
    numbers = {"ready_plants": 100, "p10": 90, "expected": 110.0, "p90": 130}
    add_line(maker, plan, soon, **numbers)
    add_line(maker, plan, soon, **numbers)
    add_line(maker, plan, soon, key="rosa-canina", **{**numbers, "expected": 60.0, "p10": 40, "p90": 70})
    add_line(maker, plan, over, key="acer-campestre", **numbers)

    glance = glance_at_season(session, today=today)

    assert glance is not None
    assert glance.season == 2027
    assert glance.forecast == [
        SpeciesForecast("Rosa canina", lines=1, needed=100, low=40, expected=60.0, high=70, covered=60.0),
        SpeciesForecast("Quercus suber", lines=2, needed=200, low=180, expected=220.0, high=260, covered=200.0),
    ]


def test_a_plan_of_today_on_unchanged_records_is_current(session: Session, maker: Maker, today: dt.date) -> None:
    make_kept_plan(session, today)

    glance = glance_at_season(session, today=today)

    assert glance is not None
    assert (glance.freshness, glance.changes) == (Freshness.CURRENT, [])


def test_a_plan_of_an_earlier_day_is_older(session: Session, today: dt.date) -> None:
    make_kept_plan(session, today - dt.timedelta(1))

    glance = glance_at_season(session, today=today)

    assert glance is not None
    assert glance.freshness is Freshness.OLDER


def test_changed_records_are_noticed(session: Session, maker: Maker, today: dt.date) -> None:
    site = maker.site()
    make_kept_plan(session, today)
    records.update(session, "Ana Seabra", row=site, values={"area_ha": 3.0}, version=site.version)

    glance = glance_at_season(session, today=today)

    assert glance is not None
    assert (glance.freshness, glance.changes) == (Freshness.CHANGED, ["1 planting site"])


def test_a_newer_plan_that_is_not_adopted_is_noticed(session: Session, today: dt.date) -> None:
    adopted = make_kept_plan(session, today)
    make_kept_plan(session, today, adopted=False, label="A newer one")

    glance = glance_at_season(session, today=today)

    assert glance is not None
    assert (glance.plan.id, glance.freshness) == (adopted.id, Freshness.NOT_ADOPTED)


def test_queries_do_not_grow_with_the_lines(
    session: Session, engine: Engine, maker: Maker, today: dt.date, count_queries
) -> None:
    plan = make_kept_plan(session, today)
    counts = []
    for more in (1, 2):
        for _ in range(more):
            add_line(maker, plan, phases_of(today, *GROWING))
            add_line(maker, plan, phases_of(today, *GROWING), status=LineStatus.LATE, problems=late(today))
            add_need(maker, plan, today, today)
        session.expire_all()
        with count_queries(engine) as statements:
            glance = glance_at_season(session, today=today)
        assert glance is not None
        counts.append((len(glance.this_week), len(glance.shortfalls), len(glance.needs), len(statements)))

    assert [count[:3] for count in counts] == [(1, 1, 1), (3, 3, 3)]
    assert counts[0][3] == counts[1][3]
