"""The pages of hours by week and of hours worked."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Person, Task, WorkTime
from nursery.planning.work.words import Job, TaskStatus, Unit


@pytest.fixture
def crew(session: Session) -> Person:
    """Rui with 30 hours, and Inês who gives 5; 42 hours of sowing this week, 12 of them can wait."""
    rui = Person(name="Rui", hours_per_week=30)
    session.add_all([rui, Person(name="Inês", hours_per_week=5, is_volunteer=True)])
    day = dt.date(2026, 11, 26)
    later = dt.date(2026, 12, 20)
    session.add(Task(key="a", job=Job.SOW, planned_on=day, due_on=day, hours=30))
    session.add(Task(key="b", job=Job.GRADE, planned_on=day, due_on=day, hours=12, latest_on=later))
    session.commit()
    return rui


def test_the_first_day_says_what_to_do_first(client: Any) -> None:
    text = client.get("/hours").text
    assert "Nobody is written down as working here" in text
    assert "make one, and adopt it." in text


def test_a_week_over_what_people_have_is_told_with_what_would_help(client: Any, crew: Person) -> None:
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", client.get("/hours").text))
    assert "1 week asks for more than people have" in text
    assert "Work asks for 42 hours; paid people have 30 and volunteers 5." in text
    assert "Grading: 12 h may wait until the week of 30 Nov." in text


def test_the_table_and_the_file_hold_the_same_weeks(client: Any, crew: Person) -> None:
    assert client.get("/hours?weeks=13").text.count('<th scope="row">') == 13 + 2
    rows = client.get("/hours.csv?weeks=13").text.lstrip("\ufeff").splitlines()
    assert rows[1] == "2026-W48,2026-11-23,42.0,30.0,5.0,7.0,30.0,12.0"
    assert len(rows) == 14


def test_by_person_work_that_nobody_took_stands_apart(client: Any, crew: Person) -> None:
    head = client.get("/hours.csv?by=person").text.splitlines()[0]
    assert head.split(",")[6:] == ["Inês (h)", "Rui (h)", "Nobody yet (h)"]


def test_the_picture_marks_what_is_too_much(client: Any, crew: Person) -> None:
    answer = client.get("/hours.svg")
    assert (answer.status_code, answer.content_type) == (200, "image/svg+xml; charset=utf-8")
    assert 'id="over-0"' in answer.text
    assert client.get("/hours.svg?narrow=1").status_code == 200


def test_hours_are_logged_and_another_entry_keeps_who_and_when(
    client: Any, crew: Person, session: Session
) -> None:
    typed = {"job": "sow", "hours": "4,5", "worker_id": str(crew.id), "worked_on": "2026-11-24", "batch_id": "",
             "notes": "", "task_id": "", "then": "another"}  # fmt: skip
    answer = client.submit("/hours/log/new", typed)
    assert answer.location == f"/hours/log/new?who={crew.id}&day=2026-11-24&job=sow"
    page = client.get(answer.location).text
    assert "4.5 hours of “Sowing” were saved." in page
    assert (f'value="{crew.id}" selected' in page, 'value="2026-11-24"' in page) == (True, True)
    row = session.scalars(select(WorkTime)).one()
    assert (row.hours, row.worker_id, row.task_id) == (4.5, crew.id, None)


def test_a_task_brings_its_work_and_batch(client: Any, crew: Person, session: Session, maker: Any) -> None:
    batch = maker.batch(code="B-77")
    task = session.scalars(select(Task).where(Task.key == "b")).one()
    task.batch_id = batch.id
    session.commit()
    page = client.get(f"/hours/log/new?task={task.id}").text
    assert ('value="grade" selected' in page, 'value="B-77"' in page) == (True, True)


@pytest.mark.parametrize("hours", ["", "0", "many"])
def test_hours_that_cannot_be_keep_the_typing(client: Any, crew: Person, session: Session, hours: str) -> None:
    typed = {"job": "weed", "hours": hours, "worker_id": "", "worked_on": "2026-11-24", "notes": "by the tap"}
    answer = client.submit("/hours/log/new", typed)
    assert (answer.status_code, "by the tap" in answer.text) == (422, True)
    assert session.scalars(select(WorkTime)).all() == []


def test_an_entry_is_withdrawn_with_a_reason(client: Any, session: Session) -> None:
    row = WorkTime(worked_on=dt.date(2026, 11, 24), job=Job.SOW, hours=3, person="Ana Seabra")
    session.add(row)
    session.commit()
    assert client.submit(f"/hours/log/{row.id}/withdraw", {"reason": ""}).status_code == 422
    client.submit(f"/hours/log/{row.id}/withdraw", {"reason": "was Monday"})
    page = client.get("/hours/log").text
    assert ("was Monday" in page, "<del>3</del>" in page) == (True, True)


def test_what_was_planned_stands_beside_what_was_worked(client: Any, crew: Person, session: Session) -> None:
    task = session.scalars(select(Task).where(Task.key == "b")).one()
    task.hours, task.amount, task.unit = 8.0, 2000.0, Unit.PLANTS
    task.status, task.done_on = TaskStatus.DONE, dt.date(2026, 11, 24)
    session.commit()
    assert "by kind of work" not in client.get("/hours/log").text
    typed = {"job": "grade", "hours": "10", "worker_id": "", "worked_on": "2026-11-24", "task_id": str(task.id)}
    client.submit("/hours/log/new", {**typed, "notes": "", "batch_id": ""})

    text = re.sub(r"<[^>]+>|\s+", " ", client.get("/hours/log").text)
    assert "Planned and worked, by kind of work" in text
    assert re.search(r"Grading\s+1\s+8\s+10\s+2\s+5 plants", text)
