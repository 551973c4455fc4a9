"""Work and people for tests of hours and money."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Person, Task
from nursery.planning.work.words import Job


@pytest.fixture
def make_task(session: Session) -> Callable[..., Task]:
    """``make_task(Job.SOW, "2027-03-01", 8)`` with any column beside."""

    def make(job: Job, due_on: str, hours: float | None, **columns: Any) -> Task:
        day = dt.date.fromisoformat(due_on)
        task = Task(key=uuid.uuid4().hex, job=job, planned_on=day, due_on=day, hours=hours, **columns)
        session.add(task)
        session.flush()
        return task

    return make


@pytest.fixture
def make_person(session: Session) -> Callable[..., Person]:
    """``make_person("Rui", 40)`` with any column beside."""

    def make(name: str, hours: float, **columns: Any) -> Person:
        person = Person(name=name, hours_per_week=hours, **columns)
        session.add(person)
        session.flush()
        return person

    return make
