"""A plan of one line whose every day is known."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, PlanLine, Task
from nursery.services.work.syncing import sync_tasks
from tests.conftest import Maker
from tests.plan_lines import add_draw, add_line, make_kept_plan, phases_of

#: Soak on 1 December, sow on 1 February, plant on 21 November; ten days of waiting lie before planting.
STEPS = (("soak", 2), ("cold-stratify", 60), ("emergence", 30), ("growing", 213), ("hardening", 50, 10))
START = dt.date(2026, 12, 1)
WINDOW = ["2027-11-01", "2028-02-28"]


@pytest.fixture
def line(session: Session, maker: Maker, today: dt.date) -> PlanLine:
    """A line of the adopted plan that draws all its seed from one lot."""
    plan = make_kept_plan(session, today)
    found = add_line(
        maker, plan, phases_of(START, *STEPS), key="fraxinus-angustifolia", basis={"window": WINDOW},
        protocol="warm-cold-direct",
    )  # fmt: skip
    lot = maker.lot(
        population=maker.population(species=maker.species("fraxinus-angustifolia")),
        tested_on=today,
        germination=0.6,
    )
    add_draw(maker, found, 960, 70_000, lot)
    return found


@pytest.fixture
def lot(session: Session, line: PlanLine) -> Lot:
    """The lot that the line draws."""
    return session.get_one(Lot, line.draws[0].lot_id)


@pytest.fixture
def tasks(session: Session, line: PlanLine, today: dt.date) -> Callable[[], dict[str, Task]]:
    """Its tasks by what tells them apart, made on the first call."""
    sync_tasks(session, "Ana Seabra", today=today)

    def read() -> dict[str, Task]:
        return {task.key.partition("-")[2]: task for task in session.scalars(select(Task))}

    return read


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def status_of(tasks: dict[str, Any]) -> dict[str, str]:
    return {key: task.status.value for key, task in tasks.items()}
