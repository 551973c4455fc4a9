"""Hours that the demo's people wrote down: a little more, or a little less, than the standard times expect."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from random import Random

from nursery.models import Batch, Person, WorkTime
from nursery.planning.work.times import WORKING_TIMES
from nursery.planning.work.words import Job, Unit
from nursery.services.demo.dating import finished_day
from nursery.services.demo.tables import rows

#: How far hours lie from the standard, as a share; common practice, no source.
_SPREAD = 0.25
#: The month in which a season begins.
_OPENS = 7


def season_times(actor: str, people: Sequence[Person], today: dt.date) -> Iterator[WorkTime]:
    """What the season that is over took beside sowing and counting, from its first July to the last load."""
    named, year = {person.name: person for person in people}, finished_day(today).year
    for row in rows("finished_hours"):
        month, number = (int(part) for part in row["day"].split("-"))
        day = dt.date(year if month >= _OPENS else year + 1, month, number)
        if day <= today:
            yield WorkTime(
                worked_on=day, job=Job(row["job"]), hours=float(row["hours"]), worker_id=named[row["person"]].id,
                person=actor, notes=row["notes"],
            )  # fmt: skip


def work_times(
    actor: str, batches: Sequence[Batch], people: Sequence[Person], today: dt.date
) -> Iterator[WorkTime]:
    """An entry for each batch's sowing and for each of its counts; batches and people have their ids."""
    for batch in batches:
        chance = Random(f"demo hours {batch.code}")  # noqa: S311 -- spread for an example, no secret
        worker = people[chance.randrange(len(people))]
        amounts = {Unit.SEEDS: batch.seeds, Unit.TRAYS: batch.trays, Unit.PLANTS: batch.alive}
        days = [(Job.SOW, batch.sown_on), *((Job.COUNT, count.counted_on) for count in batch.counts)]
        for job, day in days:
            standard = WORKING_TIMES[job]
            amount = amounts.get(standard.unit, batch.trays * (batch.cells_per_tray or 1))
            hours = amount * standard.hours_per_1000 / 1000 * max(chance.gauss(1.1, _SPREAD), 0.3)
            if day <= today and hours >= 0.05:
                yield WorkTime(
                    worked_on=day,
                    job=job,
                    hours=round(hours, 2),
                    worker_id=worker.id,
                    batch_id=batch.id,
                    person=actor,
                )
