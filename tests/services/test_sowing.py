from __future__ import annotations

import datetime as dt

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.catalog import caution_text
from nursery.models.plans import LineStatus
from nursery.planning.words import Method
from nursery.services.sowing import Totals, sowing_list
from nursery.services.weeks import Week
from tests.conftest import Maker
from tests.plan_lines import add_draw, add_line, add_need, make_kept_plan, phases_of

#: Thursday of the week of the tests' day.
SOON = dt.date(2026, 11, 26)


def test_a_week_lists_its_tasks_with_lots_and_where_they_are_kept(
    session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    line = add_line(maker, plan, phases_of(SOON, ("soak", 1), ("emergence", 30), ("growing", 200)))
    lot = maker.lot(storage_place_id=maker.place(name="Seed fridge").id)
    add_draw(maker, line, 960, 4_000_000, lot)

    found = sowing_list(session, plan, week=Week.of(today), today=today)

    assert [(row.task.label, row.seeds, row.grams) for row in found.rows] == [
        ("Put to soak", 960, 4000.0),
        ("Sow in cells", 960, 4000.0),
    ]
    assert found.rows[0].places == {lot.id: "Seed fridge"}
    assert found.rows[0].note == "float test: discard acorns that float"
    assert found.totals == Totals(tasks=2, trays=12, seeds=960, cuttings=0, grams_out=4000.0)
    assert found.next_task is not None
    assert found.next_task.label == "Thin to one plant a cell, grow on"


def test_a_caution_stands_beside_the_task_that_needs_it(session: Session, maker: Maker, today: dt.date) -> None:
    plan = make_kept_plan(session, today)
    phases = phases_of(SOON, ("scarify", 1), ("cold-stratify", 160), ("emergence", 30), ("growing", 200))
    add_line(maker, plan, phases, key="crataegus-monogyna", protocol="scarified-cold")

    found = sowing_list(session, plan, week=Week.of(today), today=today)

    scarify, chill = found.rows
    assert scarify.cautions == (caution_text("acid"),)
    assert (chill.cautions, chill.temperature_c) == ((), 5.0)
    assert (caution_text("spiny"), ["Crataegus monogyna"]) in found.handling


def test_a_protocol_that_has_left_the_catalogue_leaves_the_days(
    session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    add_line(maker, plan, phases_of(SOON, ("soak", 9), ("emergence", 30)), protocol="gone")

    (row,) = sowing_list(session, plan, week=Week.of(today), today=today).rows

    assert (row.task.label, row.note, row.temperature_c, row.cautions) == ("Put to soak", "", None, ())


def test_seed_still_to_be_collected_counts_and_lacking_seed_does_not(
    session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    phases = phases_of(SOON, ("emergence", 30), ("growing", 200))
    need = add_need(maker, plan, today, SOON)
    waiting = add_line(maker, plan, phases, status=LineStatus.COLLECT, seeds_missing=360, need_id=need.id)
    short = add_line(
        maker, plan, phases, status=LineStatus.SHORT, seeds_missing=800, basis={"cells_from_lots": 80}
    )
    cuttings = add_line(
        maker, plan, phases, status=LineStatus.COLLECT, seeds=50, seeds_missing=50, need_id=need.id,
        method=Method.CUTTINGS, seeds_per_cell=1, trays=2,
    )  # fmt: skip
    add_draw(maker, waiting, 600, 2_500_000)
    add_draw(maker, short, 160, 700_000)

    found = sowing_list(session, plan, week=Week.of(today), today=today)

    assert cuttings.id in {row.line.id for row in found.rows}
    assert found.totals == Totals(tasks=3, trays=12 + 2 + 2, seeds=600 + 360 + 160, cuttings=50, grams_out=3200.0)


def test_the_outlook_counts_twelve_weeks(session: Session, maker: Maker, today: dt.date) -> None:
    plan = make_kept_plan(session, today)
    steps = (("cold-stratify", 28), ("emergence", 21), ("growing", 200))
    add_line(maker, plan, phases_of(dt.date(2026, 12, 3), *steps))

    ahead = sowing_list(session, plan, week=Week.of(today), today=today).ahead

    assert [week.week.name for week in ahead][:2] == ["2026-W49", "2026-W50"]
    assert len(ahead) == 12
    assert {
        week.week.name: (week.pretreatments, week.sowings, week.others, week.trays) for week in ahead if week.tasks
    } == {
        "2026-W49": (1, 0, 0, 0),
        "2026-W53": (0, 1, 0, 12),
        "2027-W03": (0, 0, 1, 0),
    }


def test_an_empty_week_names_the_next_work_however_far_it_is(
    session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    add_line(maker, plan, phases_of(dt.date(2028, 3, 1), ("emergence", 30), ("growing", 200)))

    found = sowing_list(session, plan, week=Week.of(today), today=today)
    over = sowing_list(session, plan, week=Week.of(dt.date(2029, 3, 1)), today=today)

    assert found.rows == []
    assert found.next_task is not None
    assert found.next_task.starts_on == dt.date(2028, 3, 1)
    assert over.next_task is None


def test_tasks_between_the_plan_and_this_week_are_recalled(session: Session, maker: Maker, today: dt.date) -> None:
    plan = make_kept_plan(session, dt.date(2026, 11, 2))
    add_line(maker, plan, phases_of(dt.date(2026, 11, 12), ("soak", 1), ("emergence", 90), ("growing", 200)))

    this_week = sowing_list(session, plan, week=Week.of(today), today=today)
    next_week = sowing_list(session, plan, week=Week.of(today).plus(1), today=today)

    assert [task.label for task in this_week.earlier] == ["Put to soak", "Sow in cells"]
    assert next_week.earlier == []


def test_queries_do_not_grow_with_the_lines(
    session: Session, engine: Engine, maker: Maker, today: dt.date, count_queries
) -> None:
    plan = make_kept_plan(session, today)
    counts = []
    for more in (1, 2):
        for _ in range(more):
            line = add_line(maker, plan, phases_of(SOON, ("soak", 1), ("emergence", 30), ("growing", 200)))
            add_draw(maker, line, 960, 4_000_000)
        session.expire_all()
        with count_queries(engine) as statements:
            found = sowing_list(session, plan, week=Week.of(today), today=today)
        counts.append((len(found.rows), len(statements)))

    assert [rows for rows, _ in counts] == [2, 6]
    assert counts[0][1] == counts[1][1]
