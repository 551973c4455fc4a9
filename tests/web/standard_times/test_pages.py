"""The pages of standard times."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.app import create_app
from nursery.config import Settings
from nursery.models import StandardTime, Task
from nursery.planning.work.words import Job, TaskStatus
from tests.databases import Kept
from tests.web.conftest import Browser


def test_every_job_shows_its_time_and_that_it_has_no_source(client: Any) -> None:
    text = client.get("/standard-times").text
    assert text.count("working figure; common practice, no source") == 20


def test_an_own_figure_is_set_with_its_reason_and_put_aside_again(client: Any, session: Session) -> None:
    client.submit("/standard-times/sow", {"hours_per_1000": "3,2", "reason": "timed on 3 March"})
    text = re.sub(r"<[^>]+>|\s+", " ", client.get("/standard-times").text)
    assert re.search(r"Sowing\s+3\.2\s+cells\s+your own\s+timed on 3 March", text)
    client.submit("/standard-times/sow/drop", page="/standard-times/sow")
    assert session.scalars(select(StandardTime)).all() == []


def test_without_a_reason_nothing_is_written(client: Any, session: Session) -> None:
    answer = client.submit("/standard-times/sow", {"hours_per_1000": "3", "reason": ""})
    assert (answer.status_code, "Say where the figure comes from" in answer.text) == (422, True)
    assert session.scalars(select(StandardTime)).all() == []


def test_open_tasks_are_reckoned_by_a_new_figure_at_once(demo_file: Kept, tmp_path: Path, today: dt.date) -> None:
    settings = Settings(
        database_url=demo_file.copy(tmp_path), data_dir=tmp_path, secret_key="a secret for tests only"
    )
    app = create_app(settings, today=today, testing=True)
    app.test_client_class = Browser
    bind = app.extensions["nursery_sessions"].kw["bind"]
    query = select(Task.amount, Task.hours).where(Task.status == TaskStatus.OPEN, Task.job == Job.SOW)
    client: Any = app.test_client()
    client.submit("/standard-times/sow", {"hours_per_1000": "5", "reason": "timed on 3 March"})
    with Session(bind) as session:
        rows = session.execute(query).all()
    bind.dispose()
    assert rows
    assert [hours for _amount, hours in rows] == pytest.approx(
        [(amount or 0) * 5 / 1000 for amount, _hours in rows]
    )


def test_no_time_at_all_is_taken_and_told(client: Any, session: Session) -> None:
    typed = {"hours_per_1000": "0", "reason": "the machine does it"}
    text = client.submit("/standard-times/sow", typed, follow_redirects=True).text
    assert session.scalars(select(StandardTime.hours_per_1000)).all() == [0.0]
    assert "0 hours: such work fills no week and costs nothing in what is reckoned." in text
