from __future__ import annotations

import datetime as dt

import pytest
from sqlalchemy.orm import Session

from nursery.models.plans import LineStatus
from nursery.planning.words import Method
from nursery.services.work_dates import SOW, count_left_out, read_tasks
from tests.conftest import Maker
from tests.plan_lines import add_line, make_kept_plan, phases_of

START = dt.date(2026, 12, 1)
FROM, TO = dt.date(2026, 1, 1), dt.date(2029, 1, 1)


def test_phases_become_tasks_and_the_first_after_the_pretreatment_is_the_sowing(
    session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    steps = (("soak", 2), ("cold-stratify", 60), ("emergence", 30, 10), ("growing", 180), ("hardening", 40))
    add_line(maker, plan, phases_of(START, *steps))

    tasks = read_tasks(session, plan, first=FROM, last=TO)

    assert [(task.label, task.starts_on, task.days, task.wait_days, task.is_first) for task in tasks] == [
        ("Put to soak", dt.date(2026, 12, 1), 2, 0, True),
        ("Begin cold stratification", dt.date(2026, 12, 3), 60, 0, False),
        ("Sow in cells", dt.date(2027, 2, 1), 20, 10, False),
        ("Thin to one plant a cell, grow on", dt.date(2027, 3, 3), 180, 0, False),
        ("Begin hardening", dt.date(2027, 8, 30), 40, 0, False),
        ("Send out to plant", dt.date(2027, 10, 9), None, 0, False),
    ]


@pytest.mark.parametrize(
    ("method", "words"),
    [
        (Method.DIRECT, "Sow in cells"),
        (Method.PRESPROUTED, "Set sprouted seed in cells"),
        (Method.PRICKED_OUT, "Sow in flats"),
        (Method.CUTTINGS, "Set cuttings"),
        (Method.BAREROOT, "Sow in the bed"),
    ],
)
def test_sowing_is_named_after_the_method(
    session: Session, maker: Maker, today: dt.date, method: Method, words: str
) -> None:
    plan = make_kept_plan(session, today)
    add_line(maker, plan, phases_of(START, ("emergence", 30), ("growing", 100)), method=method, seeds_per_cell=1)

    sowing, growing, _planting = read_tasks(session, plan, first=FROM, last=TO)

    assert (sowing.kind, sowing.label, sowing.is_first) == (SOW, words, True)
    assert growing.label == "Begin growing on"


def test_only_tasks_between_the_days_are_read(session: Session, maker: Maker, today: dt.date) -> None:
    plan = make_kept_plan(session, today)
    add_line(maker, plan, phases_of(START, ("soak", 1), ("emergence", 30), ("growing", 100)))

    tasks = read_tasks(session, plan, first=dt.date(2026, 12, 2), last=dt.date(2026, 12, 31))

    assert [task.kind for task in tasks] == [SOW]


def test_lines_on_which_nothing_can_be_done_are_left_out(session: Session, maker: Maker, today: dt.date) -> None:
    plan = make_kept_plan(session, today)
    phases = phases_of(START, ("emergence", 30), ("growing", 100))
    add_line(maker, plan, phases, status=LineStatus.LATE)
    add_line(maker, plan, phases, status=LineStatus.SHORT, seeds=960, seeds_missing=960)
    add_line(maker, plan, phases, ready_plants=0, wanted=0)

    assert read_tasks(session, plan, first=FROM, last=None) == []
    assert count_left_out(session, plan) == 2


def test_a_line_short_of_seed_counts_only_the_trays_that_its_seed_fills(
    session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    phases = phases_of(START, ("emergence", 30), ("growing", 100))
    add_line(maker, plan, phases, status=LineStatus.SHORT, seeds_missing=400, basis={"cells_from_lots": 281})

    line = read_tasks(session, plan, first=FROM, last=TO)[0].line

    assert (line.cells, line.trays) == (281, 8)  # 281 / 40 = 7.025


def test_trays_are_filled_at_pricking_out_where_seed_goes_into_flats(
    session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    phases = phases_of(START, ("emergence", 30), ("pricking-out", 14), ("growing", 100))
    add_line(maker, plan, phases, method=Method.PRICKED_OUT)

    tasks = read_tasks(session, plan, first=FROM, last=TO)

    assert [task.label for task in tasks if task.fills_trays] == ["Prick out into cells"]


def test_one_nursery_can_be_read_alone(session: Session, maker: Maker, today: dt.date) -> None:
    plan = make_kept_plan(session, today)
    phases = phases_of(START, ("emergence", 30), ("growing", 100))
    add_line(maker, plan, phases, nursery_name="Hill yard")
    add_line(maker, plan, phases, nursery_name="River yard")

    tasks = read_tasks(session, plan, first=FROM, last=START, nursery="Hill yard")

    assert [task.line.nursery_name for task in tasks] == ["Hill yard"]
