"""Every batch that counts for a rate, wherever it was written down, in two queries."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, Float, Select, String, cast, literal, null, select, union_all
from sqlalchemy.orm import Session

from nursery.models import Evidence, Lot, SeedTest
from nursery.models.seed_tests import TestKind
from nursery.services.ledger import extraction_yields

#: The one rate that is a share of weight, not of a count.
EXTRACTION = "extraction_yield"


class Origin(StrEnum):
    """Where a batch was written down."""

    TYPED = "typed"
    TEST = "test"
    LEDGER = "ledger"


@dataclass(frozen=True, slots=True)
class Batch:
    """Successes among trials of one batch; for the extraction yield, grams of clean seed from grams of fruit."""

    species_id: int
    part: str
    rate: str
    successes: float
    trials: float
    origin: Origin
    #: The row of evidence or the test; None for an act of the ledger.
    row_id: int | None
    lot_id: int | None
    happened_on: dt.date
    source: str = ""
    person: str = ""


def read_batches(session: Session, species_ids: Collection[int] | None = None) -> dict[int, tuple[Batch, ...]]:
    """Batches that count, by species, oldest first: withdrawn ones and refused tests do not."""
    found: dict[int, list[Batch]] = {}
    for batch in (*_written(session, species_ids), *_weighed(session, species_ids)):
        found.setdefault(batch.species_id, []).append(batch)
    return {
        species_id: tuple(sorted(batches, key=lambda one: (one.happened_on, one.origin, one.row_id or 0)))
        for species_id, batches in found.items()
    }


def seeds_tested(readings: Mapping[str, Any]) -> int:
    """How many seeds a germination test counted among; 0 where its readings do not say."""
    counts, seeds = readings.get("counts"), readings.get("seeds")
    return len(counts) * int(seeds) if isinstance(counts, list) and seeds else 0


def _written(session: Session, species_ids: Collection[int] | None) -> Iterator[Batch]:
    tests, typed = _tests(), _typed()
    if species_ids is not None:
        tests = tests.where(Lot.species_id.in_(species_ids))
        typed = typed.where(Evidence.species_id.in_(species_ids))
    for species, part, rate, hits, tried, readings, origin, *rest in session.execute(union_all(tests, typed)):
        trials = seeds_tested(readings or {}) if origin == Origin.TEST else tried
        successes = round(hits * trials) if origin == Origin.TEST else hits
        if trials > 0:
            yield Batch(species, part, rate, float(successes), float(trials), Origin(origin), *rest)


def _tests() -> Select[Any]:
    return (
        select(
            Lot.species_id, cast(Lot.material, String).label("part"), literal("germination").label("rate"),
            SeedTest.result, cast(null(), Float).label("trials"), SeedTest.readings,
            literal(Origin.TEST.value).label("origin"), SeedTest.id, SeedTest.lot_id,
            SeedTest.tested_on, SeedTest.regime, SeedTest.person,
        )
        .join(Lot, Lot.id == SeedTest.lot_id)
        .where(SeedTest.kind == TestKind.GERMINATION, SeedTest.is_accepted, SeedTest.withdrawn_at.is_(None))
    )  # fmt: skip


def _typed() -> Select[Any]:
    return select(
        Evidence.species_id, Evidence.part, Evidence.rate, Evidence.successes, Evidence.trials,
        cast(null(), JSON), literal(Origin.TYPED.value), Evidence.id, Evidence.lot_id, Evidence.happened_on,
        Evidence.source, Evidence.person,
    ).where(Evidence.withdrawn_at.is_(None))  # fmt: skip


def _weighed(session: Session, species_ids: Collection[int] | None) -> Iterator[Batch]:
    for found in extraction_yields(session, None if species_ids is None else list(species_ids)):
        if found.seed_mg <= found.fruit_mg:
            yield Batch(
                found.species_id, "seed", EXTRACTION, found.seed_mg / 1000, found.fruit_mg / 1000, Origin.LEDGER,
                None, found.lot_id, found.happened_on,
            )  # fmt: skip
