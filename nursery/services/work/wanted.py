"""A task as the records ask for it today, before it is compared with the tasks that are written down."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from nursery.planning.work.words import Job


@dataclass(slots=True)
class Wanted:
    """One task; ``key`` stays from plan to plan, and ``after`` is the key of the task to be done before."""

    key: str
    job: Job
    planned_on: dt.date
    #: Whether the day is reckoned from today: once set, it stays.
    is_standing: bool = False
    until_on: dt.date | None = None
    latest_on: dt.date | None = None
    amount: float | None = None
    after: str = ""
    gap_days: int | None = None
    #: Hours where the standard times do not tell them.
    hours: float | None = None
    #: How much of the amount the records show to be done, and the last day of it.
    done: float = 0.0
    done_on: dt.date | None = None
    #: Values of the task's foreign keys: ``nursery_id``, ``line_id``, ``lot_id`` …
    links: dict[str, int | None] = field(default_factory=dict)
    details: dict[str, Any] = field(default_factory=dict)
