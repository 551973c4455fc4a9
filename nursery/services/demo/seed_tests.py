"""The demo's seed tests: each lot's first, retests of seed that was kept, one refused, and acorns in a freezer."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from random import Random
from typing import Any

from sqlalchemy import insert
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.models import Lot, SeedTest, StoragePlace
from nursery.models.lots import Material
from nursery.models.seed_tests import TestKind
from nursery.models.types import utc_now
from nursery.services.seed_tests import record_test

#: Four replicates of a hundred (ISTA practice, from memory).
_REPLICATES, _SEEDS = 4, 100
#: Standard deviation of a weighed replicate as a share of the mean; common practice, no source.
_WEIGHING = 0.012
#: How long the acorns have been in the freezer.
_FROZEN = dt.timedelta(days=9)
#: Chance alone refuses one sample in twenty; so often another is drawn.
_ATTEMPTS = 50
_YEAR = dt.timedelta(days=365)
#: Of the lots that were due, this share was tested again in time.
_DILIGENCE = 0.75
_REGIME = "20/10 °C, 12 h light"


def write_tests(session: Session, actor: str, lots: Sequence[Lot], today: dt.date) -> None:
    """Tests behind the figures of all lots by one statement; then those that the demo is to show."""
    tested = [lot for lot in lots if lot.germination is not None and lot.tested_on is not None]
    rows = [row for lot in tested for row in _tests_of(actor, lot, today)]
    if rows:
        session.execute(insert(SeedTest), rows)
    session.flush()
    kept = [lot for lot in lots if lot.archived_at is None and lot.material is Material.SEED and lot.amount_mg]
    orthodox = [lot for lot in kept if _behaviour(lot) == "orthodox" and lot.tested_on is not None]
    orthodox.sort(key=lambda lot: (lot.collected_on, lot.code))
    _well_known(session, actor, orthodox[len(orthodox) // 2], today)
    _refused(session, actor, orthodox[-1], today)
    _frozen(session, [lot for lot in kept if _behaviour(lot) == "recalcitrant"], today)


def _tests_of(actor: str, lot: Lot, today: dt.date) -> Iterator[dict[str, Any]]:
    """The first test, and one a year later where the nursery kept to it; the lot has the figure of the last."""
    from nursery.planning.storage import life_viability  # noqa: PLC0415 -- slow import

    chance = Random(f"demo tests {lot.code}")  # noqa: S311 -- spread for an example, no secret
    entry = load_catalog().species[lot.species.key]
    first, found = lot.tested_on or today, lot.germination or 0.0
    yield _row(actor, lot, first, found, chance)
    again = first + _YEAR
    if lot.archived_at is None and again <= today and entry.storage.storable and chance.random() < _DILIGENCE:
        left = round(float(life_viability(found, _YEAR.days, entry.life_days("seed"))), 2)
        lot.germination, lot.tested_on = left, again
        yield _row(actor, lot, again, left, chance)


def _row(actor: str, lot: Lot, day: dt.date, germination: float, chance: Random) -> dict[str, Any]:
    """A germination test with just this mean, whose replicates differ as by chance."""
    from nursery.services.seed_tests.judging import judge  # noqa: PLC0415 -- slow import

    for _attempt in range(_ATTEMPTS):
        readings = {"counts": _counts(germination, chance), "seeds": _SEEDS}
        found = judge(TestKind.GERMINATION, readings, tsw_g=lot.tsw_g or 1.0)
        if found.is_accepted:
            break
    return {
        "lot_id": lot.id, "kind": TestKind.GERMINATION, "tested_on": day, "person": actor, "readings": readings,
        "result": found.result, "low": found.low, "high": found.high, "is_accepted": found.is_accepted,
        "verdict": {**found.verdict, "before": {"value": None, "tested_on": None}}, "days": 42,
        "regime": _REGIME, "created_at": utc_now(),
    }  # fmt: skip


def _counts(germination: float, chance: Random) -> list[int]:
    """Replicates of one sample: they vary binomially around their mean, which is kept."""
    total = round(germination * _SEEDS * _REPLICATES)
    spread = math.sqrt(_SEEDS * germination * (1 - germination))
    drawn = [chance.gauss(0, spread) for _replicate in range(_REPLICATES)]
    middle = sum(drawn) / _REPLICATES
    counts = [round(total / _REPLICATES + value - middle) for value in drawn]
    counts = [min(max(count, 0), _SEEDS) for count in counts]
    # What rounding and the ends took or gave is spread over the replicates that have room for it.
    while (missing := total - sum(counts)) != 0:
        step = 1 if missing > 0 else -1
        free = [at for at, count in enumerate(counts) if 0 <= count + step <= _SEEDS]
        counts[chance.choice(free)] += step
    return counts


def _well_known(session: Session, actor: str, lot: Lot, today: dt.date) -> None:
    """A lot with every kind of test, none of which tells much else than is known."""
    day = lot.tested_on or today
    weight, pure = lot.tsw_g or 1.0, min(round(25 * (lot.purity or 0.9), 2), 24.9)
    chance = Random(f"demo weights {lot.code}")  # noqa: S311 -- spread for an example, no secret
    eight = [round(weight / 10 * chance.gauss(1, _WEIGHING), 4) for _replicate in range(8)]
    mean = round((lot.germination or 0.0) * 50)
    for kind, readings in (
        (TestKind.TETRAZOLIUM, {"counts": [min(mean + 2, 50), max(mean - 1, 0)], "seeds": 50}),
        (TestKind.PURITY, {"pure_g": pure, "other_g": 0.05, "inert_g": round(24.95 - pure, 2)}),
        (TestKind.WEIGHT, {"weights_g": eight, "seeds": 100, "chaffy": False}),
        (TestKind.MOISTURE, {"samples": [[21.5, 26.5, 26.11], [20.8, 25.8, 25.42]]}),
    ):
        record_test(session, actor, lot=lot, kind=kind, tested_on=day, readings=readings, today=today)


def _refused(session: Session, actor: str, lot: Lot, today: dt.date) -> None:
    """Replicates that lie too far apart: mould in two dishes."""
    record_test(
        session, actor, lot=lot, kind=TestKind.GERMINATION, tested_on=today - dt.timedelta(days=2),
        readings={"counts": [92, 71, 88, 64], "seeds": _SEEDS}, today=today, days=28, regime=_REGIME,
        notes="Mould in the second and fourth dish.",
    )  # fmt: skip


def _frozen(session: Session, lots: Sequence[Lot], today: dt.date) -> None:
    """A few acorns that somebody put into the freezer."""
    freezer = StoragePlace(name="Chest freezer", temperature_c=-18, notes="For orthodox seed, dry and airtight.")
    session.add(freezer)
    if lots:
        lot = min(lots, key=lambda lot: (lot.amount_mg or 0, lot.code))
        lot.storage_place, lot.stored_on = freezer, max(today - _FROZEN, lot.collected_on)
    session.flush()


def _behaviour(lot: Lot) -> str:
    return load_catalog().species[lot.species.key].storage.behaviour
