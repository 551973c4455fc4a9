"""The list of all tasks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

from sqlalchemy import String, and_, case, cast, func, select
from sqlalchemy.orm import Session

from nursery.i18n import lazy as _l
from nursery.models import Bench, Nursery, Person, Population, Site, Task
from nursery.planning.work.words import Job, TaskStatus
from nursery.services.costing.words import JOB_LABELS, UNIT_LABELS
from nursery.services.listing import Column, Filter, Listing, choice_options
from nursery.services.weeks import Week
from nursery.services.work.reading import LATE_AFTER, NOBODY, OPEN, is_outdated, people_options
from nursery.services.work.words import STATUS_LABELS

WHEN_LABELS = {
    "late": _l("Late"), "today": _l("Today"), "week": _l("This week"), "later": _l("Later"),
    "over": _l("Finished"),
}  # fmt: skip
_SPECIES = Task.details["species"].as_string()
_LOT, _BATCH = Task.details["lot"].as_string(), Task.details["batch"].as_string()
_PERSON = func.coalesce(cast(Task.person_id, String), NOBODY)


@lru_cache(maxsize=8)
def listing_of(today: dt.date) -> Listing:
    """Tasks, the first due on top; when they are due is told from today."""
    sunday = Week.of(today).sunday
    when = case(
        (Task.status.not_in(OPEN), "over"),
        (is_outdated(today), "over"),
        (today > LATE_AFTER, "late"),
        (Task.due_on <= today, "today"),
        (Task.due_on <= sunday, "week"),
        else_="later",
    )
    return Listing(
        model=Task,
        order="due",
        joins=lambda query: (
            query.outerjoin(Person, Task.person_id == Person.id)
            .outerjoin(Nursery, Task.nursery_id == Nursery.id)
            .outerjoin(Bench, Task.bench_id == Bench.id)
            .outerjoin(Site, Task.site_id == Site.id)
            .outerjoin(Population, Task.population_id == Population.id)
        ),
        columns=(
            Column("job", _l("Work"), Task.job, "choice", choices=JOB_LABELS, link=("work.detail", Task.id)),
            Column("species", _l("Species"), _SPECIES, "taxon"),
            Column("due", _l("Due"), Task.due_on, "date", nullable=False),
            Column("when", _l("When"), when, "choice", choices=WHEN_LABELS, nullable=False, sortable=False),
            Column("status", _l("Status"), Task.status, "choice", choices=STATUS_LABELS),
            Column("amount", _l("Amount"), Task.amount, "number"),
            Column("unit", _l("Unit"), Task.unit, "choice", choices=UNIT_LABELS, sortable=False),
            Column("person", _l("Person"), Person.name, nullable=True),
            Column("site", _l("Planting site"), Site.name, nullable=True),
            Column("nursery", _l("Nursery"), Nursery.name, nullable=True, on_screen=False),
            Column("bench", _l("Bench"), Bench.name, nullable=True, on_screen=False),
            Column("population", _l("Population"), Population.name, nullable=True, on_screen=False),
            Column("lot", _l("Lot"), _LOT, "code", on_screen=False, sortable=False),
            Column("batch", _l("Batch"), _BATCH, "code", on_screen=False, sortable=False),
            Column("planned", _l("Planned for"), Task.planned_on, "date", on_screen=False),
            Column("latest", _l("Last day for the season"), Task.latest_on, "date", on_screen=False),
            Column("hours", _l("Hours"), Task.hours, "number", digits=1, on_screen=False),
            Column("done_on", _l("Done on"), Task.done_on, "date", on_screen=False),
            Column("done_amount", _l("Done"), Task.done_amount, "number", digits=1, on_screen=False),
            Column("done_by", _l("Done by"), Task.done_by, on_screen=False),
            Column("reason", _l("Reason"), Task.reason, on_screen=False),
        ),
        search=(_SPECIES, Person.name, Site.name, Nursery.name, _LOT, _BATCH),
        filters=(
            Filter("when", _l("When"), when, choice_options(WHEN_LABELS)),
            Filter("job", _l("Work"), Task.job, choice_options(JOB_LABELS), parse=Job),
            Filter("status", _l("Status"), Task.status, choice_options(STATUS_LABELS), parse=TaskStatus),
            Filter("person", _l("Person"), _PERSON, people_options),
            Filter("nursery", _l("Nursery"), Nursery.name, _names(Nursery, Task.nursery_id)),
            Filter("bench", _l("Bench"), Bench.name, _names(Bench, Task.bench_id)),
            Filter("site", _l("Planting site"), Site.name, _names(Site, Task.site_id)),
            Filter("population", _l("Population"), Population.name, _names(Population, Task.population_id)),
        ),
    )  # fmt: skip


def _names(model: Any, column: Any) -> Callable[[Session], Sequence[tuple[str, str]]]:
    """Filter options: places at which there is work."""

    def read(session: Session) -> Sequence[tuple[str, str]]:
        used = select(column).where(and_(column.is_not(None), Task.status != TaskStatus.DROPPED)).distinct()
        names = session.scalars(select(model.name).where(model.id.in_(used)).order_by(model.name).limit(500))
        return [(name, name) for name in names]

    return read
