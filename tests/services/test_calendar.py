from __future__ import annotations

import datetime as dt

from sqlalchemy.orm import Session

from nursery.models import PlanLine
from nursery.models.plans import LineStatus
from nursery.services.calendar import LISTING, PhaseDates, chart, phase_dates, phase_rows
from nursery.services.listing import ListQuery, read_page
from tests.conftest import Maker
from tests.plan_lines import add_line, make_kept_plan, phases_of

STEPS = (("soak", 1), ("emergence", 30, 9), ("growing", 200))


def test_phases_are_named_and_dated() -> None:
    assert phase_dates(phases_of(dt.date(2026, 12, 1), *STEPS)) == [
        PhaseDates("Soak in water", dt.date(2026, 12, 1), dt.date(2026, 12, 2), 0),
        PhaseDates("Emergence", dt.date(2026, 12, 2), dt.date(2027, 1, 1), 9),
        PhaseDates("Growing", dt.date(2027, 1, 1), dt.date(2027, 7, 20), 0),
    ]


def test_the_list_is_filtered_and_in_order_of_the_first_work(
    session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    other = make_kept_plan(session, today, adopted=False, label="Another")
    for day, status in (
        (dt.date(2027, 2, 1), LineStatus.COLLECT),
        (dt.date(2026, 12, 1), LineStatus.COLLECT),
        (dt.date(2026, 12, 9), LineStatus.ON_TRACK),
    ):
        add_line(maker, plan, phases_of(day, *STEPS), status=status)
        add_line(maker, other, phases_of(day, *STEPS), status=status)

    page = read_page(
        session, LISTING, ListQuery(filters={"status": "collect"}), where=(PlanLine.plan_id == plan.id,)
    )
    options = {choice.key: choice.options(session) for choice in LISTING.filters}

    assert [row.pretreat_on for row in page.rows] == [dt.date(2026, 12, 1), dt.date(2027, 2, 1)]
    assert options["season"] == [("2027", "2027/28")]
    assert options["site"] == [("Azenha bank", "Azenha bank")]
    assert options["species"] == [("Quercus suber", "Quercus suber")]
    assert [row.pretreat_on for row, _phase in phase_rows(page.rows)] == [dt.date(2026, 12, 1)] * 3 + [
        dt.date(2027, 2, 1)
    ] * 3


def test_the_chart_says_what_is_not_in_order(session: Session, maker: Maker, today: dt.date) -> None:
    plan = make_kept_plan(session, today)
    add_line(maker, plan, phases_of(today, *STEPS))
    add_line(maker, plan, phases_of(today, *STEPS), status=LineStatus.COLLECT, site_name="Mill race")
    rows = read_page(session, LISTING, ListQuery(), where=(PlanLine.plan_id == plan.id,)).rows

    svg = chart(rows, today=today, title="Calendar", narrow=False).decode()

    assert ">Azenha bank</text>" in svg
    assert ">Mill race · Seed to collect</text>" in svg
