"""What was seen of rates in a span of days: counts, tests and surveys, whoever wrote them down."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy.orm import Session

from nursery.planning.intervals import wilson_interval
from nursery.services.learned.batches import EXTRACTION, Batch, read_batches

#: The chance with which a range holds.
SURE = 0.8


@dataclass(frozen=True, slots=True)
class Seen:
    """Successes among trials of one rate, and how often it was looked at."""

    successes: float
    trials: float
    times: int
    last_on: dt.date

    @property
    def share(self) -> float:
        """Successes of trials."""
        return self.successes / self.trials

    @property
    def range(self) -> tuple[float, float]:
        """Where the share of this season's plants lies in eight of ten cases, by Wilson's interval."""
        low, high = wilson_interval(self.successes, self.trials, SURE)
        return float(low), float(high)


def read_seen(session: Session, since: Mapping[int, dt.date], until: dt.date) -> dict[tuple[int, str, str], Seen]:
    """By species id, part and rate, what was seen after ``since`` (by species) and by ``until``.

    What is weighed out of fruit is no rate of plants and is left out.
    """
    found: defaultdict[tuple[int, str, str], list[Batch]] = defaultdict(list)
    for species_id, batches in read_batches(session, list(since)).items():
        for batch in batches:
            if since[species_id] < batch.happened_on <= until and batch.rate != EXTRACTION:
                found[species_id, batch.part, batch.rate].append(batch)
    return {
        key: Seen(
            sum(one.successes for one in batches), sum(one.trials for one in batches), len(batches),
            max(one.happened_on for one in batches),
        )
        for key, batches in found.items()
    }  # fmt: skip
