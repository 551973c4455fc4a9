"""Hours by week from tasks and people on record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.planning.work.words import Job, TaskStatus
from nursery.services.costing.hours import read_hours
from nursery.services.weeks import Week

#: A Wednesday.
TODAY = dt.date(2027, 3, 3)
FIRST = Week.of(TODAY)
Make = Callable[..., Any]


def test_an_open_task_takes_its_hours_in_its_week(session: Session, make_task: Make) -> None:
    make_task(Job.SOW, "2027-03-04", 8)
    make_task(Job.GRADE, "2027-03-09", 5)
    read = read_hours(session, today=TODAY, first=FIRST, count=3)
    assert [week.needed for week in read.weeks] == [8.0, 5.0, 0.0]
    assert [(part.label, list(part.hours)) for part in read.portions] == [
        ("Sowing", [8.0, 0.0, 0.0]),
        ("Grading", [0.0, 5.0, 0.0]),
    ]


def test_done_dropped_and_skipped_work_takes_none_and_partly_done_work_what_is_left(
    session: Session, make_task: Make
) -> None:
    make_task(Job.SOW, "2027-03-04", 8, status=TaskStatus.DONE, done_on=TODAY)
    make_task(Job.SOW, "2027-03-04", 8, status=TaskStatus.DROPPED)
    make_task(Job.SOW, "2027-03-04", 8, status=TaskStatus.SKIPPED, reason="frost")
    make_task(Job.SOW, "2027-03-04", 8, status=TaskStatus.PARTLY, amount=1000, done_amount=250)
    assert read_hours(session, today=TODAY, first=FIRST, count=1).weeks[0].needed == 6.0


def test_overdue_work_is_asked_of_this_week_and_told(session: Session, make_task: Make) -> None:
    make_task(Job.SOW, "2027-02-10", 8)
    read = read_hours(session, today=TODAY, first=FIRST, count=2)
    assert ([week.needed for week in read.weeks], read.late) == ([8.0, 0.0], 8.0)


def test_a_task_without_hours_is_counted_as_unknown(session: Session, make_task: Make) -> None:
    make_task(Job.SOW, "2027-03-04", None)
    assert read_hours(session, today=TODAY, first=FIRST, count=1).unknown == 1


def test_volunteers_stand_beside_paid_people_and_what_is_too_much_is_told(
    session: Session, make_task: Make, make_person: Make
) -> None:
    make_task(Job.SOW, "2027-03-04", 50)
    make_person("Rui", 30)
    make_person("Inês", 8, is_volunteer=True)
    week = read_hours(session, today=TODAY, first=FIRST, count=1).weeks[0]
    assert (week.paid, week.volunteers, week.given, week.over) == (30.0, 8.0, 8.0, 12.0)


def test_work_that_may_wait_is_named_with_the_week_it_may_go_to(
    session: Session, make_task: Make, make_person: Make
) -> None:
    make_person("Rui", 30)
    make_task(Job.SOW, "2027-03-04", 25, latest_on=dt.date(2027, 3, 5))
    grading = make_task(Job.GRADE, "2027-03-04", 12, latest_on=dt.date(2027, 3, 20))
    read = read_hours(session, today=TODAY, first=FIRST, count=3)
    [advice] = read.advice
    assert (advice.week.over, advice.lacking) == (7.0, 0.0)
    [move] = advice.movable
    assert (move.task_id, move.text, move.hours, move.to) == (grading.id, "Grading", 12.0, FIRST.plus(1))


def test_without_work_that_may_wait_volunteers_are_asked_for_the_rest(
    session: Session, make_task: Make, make_person: Make
) -> None:
    make_person("Rui", 30)
    make_task(Job.SOW, "2027-03-04", 37)
    [advice] = read_hours(session, today=TODAY, first=FIRST, count=3).advice
    assert (list(advice.movable), advice.lacking) == ([], 7.0)


def test_by_person_each_has_hours_and_what_nobody_took_stands_apart(
    session: Session, make_task: Make, make_person: Make
) -> None:
    rui = make_person("Rui", 30)
    gone = make_person("Telmo", 30, archived_at=dt.datetime(2027, 1, 1, tzinfo=dt.UTC))
    make_task(Job.SOW, "2027-03-04", 8, person_id=rui.id)
    make_task(Job.SOW, "2027-03-04", 3, person_id=gone.id)
    make_task(Job.SOW, "2027-03-04", 5)
    read = read_hours(session, today=TODAY, first=FIRST, count=1, by="person")
    assert {part.label: (list(part.hours), part.has) for part in read.portions} == {
        "Telmo": ([3.0], None),
        "Rui": ([8.0], [30.0]),
        "Nobody yet": ([5.0], None),
    }


def test_the_queries_do_not_grow_with_the_tasks(
    session: Session, engine: Engine, make_task: Make, count_queries: Any
) -> None:
    for day in range(1, 9):
        make_task(Job.SOW, f"2027-03-0{day}", 2)
    session.commit()
    with count_queries(engine) as statements:
        read_hours(session, today=TODAY, first=FIRST)
    assert len(statements) == 2
