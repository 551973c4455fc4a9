"""The trace through a large ledger against a plain read of its movements."""

from __future__ import annotations

import datetime as dt
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from nursery.database import make_engine, upgrade
from nursery.models import Bag, Batch, Lot, Movement, Planting, PlantMovement, Population, Site, Species
from nursery.models.batches import PlantMovementKind
from nursery.models.lots import Material
from nursery.models.movements import Measure, MovementKind
from nursery.models.types import utc_now
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.services.flows import follow_stand, trace_site

SEED = 20261125
#: Collected lots, lots in each of ten layers above them, and movements in all.
COLLECTED, LAYER, DEPTH, MOVEMENTS = 2_000, 400, 10, 100_000
MOTHERS, SITES = 10, 50
#: Batches sown, and those in each of three layers merged from the layer before.
BATCHES, BATCH_LAYER, BATCH_DEPTH = 2_000, 300, 3
DAY = dt.date(2026, 1, 15)


def run() -> None:
    """Print seconds and ratios."""
    with tempfile.TemporaryDirectory() as folder:
        engine = make_engine(f"sqlite:///{Path(folder) / 'ledger.sqlite'}")
        upgrade(engine)
        with Session(engine) as session, session.begin():
            written = _fill(session)
        read = _least(engine, lambda session: session.execute(select(Movement.__table__)).all())
        back = _least(engine, lambda session: trace_site(session, None, 1))
        on = _least(engine, lambda session: follow_stand(session, None, 1, "M1"))
        with Session(engine) as session:
            origins = trace_site(session, None, 1).planted
            reached = len(follow_stand(session, None, 1, "M1")[1].lots)
        engine.dispose()
    print(
        f"trace: {written} movements, {COLLECTED + LAYER * DEPTH} lots, {DEPTH} deep, "
        f"{BATCHES + BATCH_LAYER * BATCH_DEPTH} batches: plain read of the movements "
        f"{read:.2f} s; back from a site to {len(origins.lots)} lots and {len(origins.mothers)} mothers "
        f"{back:.2f} s, {back / read:.2f} ×; on from a mother to {reached} lots {on:.2f} s, {on / read:.2f} ×"
    )


def _least(engine: Any, do: Callable[[Session], Any]) -> float:
    """The shortest of three runs, each in a session of its own."""
    found = []
    for _run in range(3):
        with Session(engine) as session:
            began = time.perf_counter()
            do(session)
            found.append(time.perf_counter() - began)
    return min(found)


def _fill(session: Session) -> int:
    """Layers of lots, each split from or mixed of lots of the layer below; the rest are small takings."""
    rng = np.random.default_rng(SEED)
    session.execute(insert(Species), [{"id": 1, "key": "quercus-suber", "scientific_name": "Quercus suber"}])
    stand = {"species_id": 1, "latitude": 40.0, "longitude": -7.0}
    session.execute(
        insert(Population), [{"id": n, "code": f"P{n}", "name": f"Stand {n}", **stand} for n in range(1, 201)]
    )
    window = {"latitude": 40.0, "longitude": -7.0, "window_opens": "11-01", "window_closes": "02-28"}
    session.execute(
        insert(Site), [{"id": n, "code": f"S{n}", "name": f"Site {n}", **window} for n in range(1, SITES + 1)]
    )
    count = COLLECTED + LAYER * DEPTH
    lot = {
        "material": Material.SEED, "species_id": 1, "collected_on": dt.date(2020, 10, 1), "ripening_year": 2020,
        "amount_mg": 1_000_000,
    }  # fmt: skip
    session.execute(
        insert(Lot),
        [{"id": n, "code": f"L{n}", "population_id": (n - 1) % 200 + 1, **lot} for n in range(1, count + 1)],
    )
    session.execute(
        insert(Bag),
        [
            {"lot_id": n, "tag": f"M{tag}", "weight_mg": int(rng.integers(1_000, 9_000))}
            for n in range(1, COLLECTED + 1)
            for tag in range(1, MOTHERS + 1)
        ],
    )
    rows: list[dict[str, Any]] = []
    first, last = 1, COLLECTED
    for layer in range(DEPTH):
        start = COLLECTED + layer * LAYER + 1
        for child in range(start, start + LAYER):
            for parent in rng.integers(first, last + 1, int(rng.integers(1, 13))).tolist():
                amount = int(rng.integers(1_000, 90_000))
                rows += [_row(parent, -amount, child, len(rows)), _row(child, amount, parent, len(rows))]
        first, last = start, start + LAYER - 1
    rows += [_row(int(one), -1, None, len(rows) + at) for at, one in enumerate(
        rng.integers(1, count + 1, MOVEMENTS - len(rows)))]  # fmt: skip
    session.execute(insert(Movement), rows)
    session.execute(
        insert(Planting),
        [
            {"site_id": n % SITES + 1, "lot_id": first + n, "planted_on": DAY, "plants": 100 + n}
            for n in range(LAYER)
        ],
    )
    return len(rows) + _fill_batches(session, count, rng)


def _fill_batches(session: Session, lots: int, rng: np.random.Generator) -> int:
    """Batches sown of any lots, then layers of batches merged of the layer before; all send plants to sites."""
    batch = {
        "species_id": 1, "method": Method.DIRECT, "protocol": "", "sown_on": DAY, "seeds": 400, "trays": 10,
        "stage": Stage.READY, "stage_on": DAY, "alive": 100, "seed_act": "",
    }  # fmt: skip
    owned = [int(one) for one in rng.integers(1, lots + 1, BATCHES)]
    every: list[int | None] = [*owned, *([None] * BATCH_LAYER * BATCH_DEPTH)]
    session.execute(insert(Batch), [{"id": n, "code": f"B{n}", "lot_id": lot, **batch}
                                    for n, lot in enumerate(every, 1)])  # fmt: skip
    rows: list[dict[str, Any]] = []

    def move(one: int, kind: PlantMovementKind, change: int, other: int | None = None) -> None:
        rows.append(
            {
                "batch_id": one, "kind": kind, "change": change, "reason": "", "person": "Ana", "happened_on": DAY,
                "at": utc_now(), "act": str(len(rows)), "other_batch_id": other, "reverses_id": None,
                "cause": None, "target_id": None,
                "site_id": one % SITES + 1 if kind is PlantMovementKind.DISPATCHED else None,
            }
        )  # fmt: skip

    first, last = 1, BATCHES
    for layer in range(BATCH_DEPTH):
        start = BATCHES + layer * BATCH_LAYER + 1
        for child in range(start, start + BATCH_LAYER):
            for parent in rng.integers(first, last + 1, 4).tolist():
                move(parent, PlantMovementKind.MERGED, -50, child)
                move(child, PlantMovementKind.MERGED, 50, parent)
        first, last = start, start + BATCH_LAYER - 1
    for n in range(1, len(every) + 1):
        move(n, PlantMovementKind.COUNTED, 500)
        move(n, PlantMovementKind.DISPATCHED, -100)
    session.execute(insert(PlantMovement), rows)
    return len(rows)


def _row(lot: int, change: int, other: int | None, act: int) -> dict[str, Any]:
    kind = MovementKind.MIXED if other else MovementKind.WITHDRAWN
    return {
        "lot_id": lot, "kind": kind, "measure": Measure.SEED, "change": change, "reason": "", "person": "Ana",
        "happened_on": DAY, "at": utc_now(), "act": str(act), "other_lot_id": other, "reverses_id": None,
    }  # fmt: skip
