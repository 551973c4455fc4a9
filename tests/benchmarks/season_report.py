"""The report of a season of 500 batches: gathered, set as PDF, workbook and page, and read back."""

from __future__ import annotations

import datetime as dt
import resource
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import insert
from sqlalchemy.orm import Session

from nursery.app import create_app
from nursery.config import Settings
from nursery.database import make_engine, upgrade
from nursery.models import (
    Bag,
    Batch,
    Count,
    Expense,
    Lot,
    Movement,
    Person,
    Planting,
    PlantMovement,
    Population,
    Site,
    Species,
    Survey,
    SurveyCount,
    SurveyPlot,
    Target,
    WorkTime,
)
from nursery.models.batches import PlantMovementKind
from nursery.models.lots import Material
from nursery.models.movements import Measure, MovementKind
from nursery.models.targets import TargetBasis
from nursery.models.types import utc_now
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.words import Method
from nursery.planning.work.words import Job
from nursery.services.season_report import (
    check_agreement,
    gather_figures,
    report_pdf,
    report_xlsx,
    show,
)
from nursery.web.season_reports.showing import body_of

SEED = 20261130
SEASON, TODAY = 2025, dt.date(2026, 11, 30)
SPECIES, SITES, LOTS, BATCHES, HOURS = 45, 60, 300, 500, 4_000
#: Losses written down of each batch, and mothers of each lot.
LOSSES, MOTHERS = 8, 20
SOWN = dt.date(2025, 3, 1)
WHO = "Nobody"


def run() -> None:
    """Print seconds by step, cells read back, and the most memory that was taken."""
    with tempfile.TemporaryDirectory() as folder:
        address = f"sqlite:///{Path(folder) / 'season.sqlite'}"
        engine = make_engine(address)
        upgrade(engine)
        with Session(engine) as session, session.begin():
            _fill(session)
        app = create_app(
            Settings(database_url=address, data_dir=Path(folder), secret_key="for a benchmark only", person=WHO),
            today=TODAY,
        )
        steps: dict[str, float] = {}
        processor = time.process_time()
        with Session(engine) as session:
            figures = _timed(steps, "gathered", lambda: gather_figures(session, season=SEASON, today=TODAY))
        document = show(figures, language="en")
        pdf = _timed(steps, "PDF", lambda: report_pdf(document))
        workbook = _timed(steps, "workbook", lambda: report_xlsx(document))
        with app.app_context():
            page = _timed(steps, "page", lambda: body_of(app, document, lambda key, **_more: key))
        found = _timed(
            steps, "read back", lambda: check_agreement(document, page=page, pdf=pdf, workbook=workbook)
        )
        processor = time.process_time() - processor
        app.extensions["nursery_sessions"].kw["bind"].dispose()
        engine.dispose()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    told = ", ".join(f"{name} {seconds:.1f} s" for name, seconds in steps.items())
    cells = found.page + found.pdf + found.workbook
    print(
        f"season report: {BATCHES} batches, {SITES} sites, {SPECIES} species, {LOTS} lots: "
        f"{sum(steps.values()):.1f} s ({told}), processor {processor:.1f} s; {cells} cells read back, agree: "
        f"{found.is_whole}; PDF {len(pdf) / 1e6:.1f} MB; peak memory {peak:.0f} MB"
    )


def _timed(steps: dict[str, float], name: str, do: Any) -> Any:
    began = time.perf_counter()
    made = do()
    steps[name] = time.perf_counter() - began
    return made


def _fill(session: Session) -> None:
    rng = np.random.default_rng(SEED)
    _places(session)
    of_lot = [int(one) for one in rng.integers(1, SPECIES + 1, LOTS)]
    _lots(session, of_lot, rng)
    lot_of = [int(one) for one in rng.integers(1, LOTS + 1, BATCHES)]
    pairs: dict[tuple[int, int], int] = {}
    for at in range(BATCHES):
        pairs.setdefault((of_lot[lot_of[at] - 1], int(rng.integers(1, SITES + 1))), len(pairs) + 1)
    session.execute(
        insert(Target),
        [
            {"id": key, "species_id": species, "site_id": site, "season": SEASON, "plants": 400,
             "basis": TargetBasis.PLANTS, "funder": f"Fund {key % 4}"}
            for (species, site), key in pairs.items()
        ],
    )  # fmt: skip
    by_species: dict[int, list[tuple[int, int]]] = {}
    for (species, site), key in pairs.items():
        by_species.setdefault(species, []).append((key, site))
    _batches(session, of_lot, lot_of, by_species, rng)
    _surveys(session, pairs, rng)
    _work(session, rng)


def _places(session: Session) -> None:
    keys = range(1, SPECIES + 1)
    session.execute(
        insert(Species),
        [{"id": n, "key": f"invented-{n}", "scientific_name": f"Inventum numero{n}"} for n in keys],
    )
    spot = {"latitude": 40.0, "longitude": -7.0}
    session.execute(
        insert(Population),
        [{"id": n, "code": f"P{n}", "name": f"Stand {n}", "species_id": n, "region_code": f"R{n % 3}", **spot}
         for n in keys],
    )  # fmt: skip
    window = {"window_opens": "11-01", "window_closes": "02-28", **spot}
    session.execute(
        insert(Site),
        [{"id": n, "code": f"S{n}", "name": f"Planting site {n}", "region_code": f"R{n % 3}", **window}
         for n in range(1, SITES + 1)],
    )  # fmt: skip


def _lots(session: Session, of_lot: list[int], rng: np.random.Generator) -> None:
    days = rng.integers(0, 300, LOTS)
    session.execute(
        insert(Lot),
        [
            {"id": n, "code": f"L{n}", "material": Material.SEED, "species_id": species, "population_id": species,
             "collected_on": dt.date(2025, 7, 1) + dt.timedelta(days=int(days[n - 1])), "ripening_year": 2025,
             "amount_mg": 900_000, "mother_plants": MOTHERS}
            for n, species in enumerate(of_lot, 1)
        ],
    )  # fmt: skip
    session.execute(
        insert(Movement),
        [
            {"lot_id": n, "kind": MovementKind.COLLECTED, "measure": Measure.SEED, "change": 900_000,
             "person": WHO, "happened_on": SOWN, "act": f"in{n}"}
            for n in range(1, LOTS + 1)
        ],
    )  # fmt: skip
    session.execute(
        insert(Bag),
        [
            {"lot_id": n, "tag": f"M{tag}", "weight_mg": int(rng.integers(10, 90))}
            for n in range(1, LOTS + 1)
            for tag in range(MOTHERS)
        ],
    )


def _batches(
    session: Session, of_lot: list[int], lot_of: list[int], targets: dict[int, list[tuple[int, int]]],
    rng: np.random.Generator,
) -> None:  # fmt: skip
    batches, moves, counts, plantings = [], [], [], []
    causes = [cause for cause in Cause if cause is not Cause.UNKNOWN]
    for n, lot in enumerate(lot_of, 1):
        species = of_lot[lot - 1]
        target, site = targets[species][int(rng.integers(0, len(targets[species])))]
        plants = int(rng.integers(200, 900))
        lost = [int(one) for one in rng.integers(1, 20, LOSSES)]
        left = plants - sum(lost)
        batches.append(
            {"id": n, "code": f"B{n}", "species_id": species, "lot_id": lot, "target_id": target, "sown_on": SOWN,
             "method": Method.DIRECT, "stage": Stage.READY, "stage_on": SOWN, "seeds": plants * 2, "alive": 0,
             "seeds_per_cell": 2, "trays": 10, "cells_per_tray": 40, "viability": 0.8}
        )  # fmt: skip
        same = {"batch_id": n, "person": WHO, "cause": None, "site_id": None, "target_id": None}
        moves.append(
            {**same, "kind": PlantMovementKind.COUNTED, "change": plants, "happened_on": SOWN, "act": f"c{n}"}
        )
        moves += [
            {**same, "kind": PlantMovementKind.LOST, "change": -count, "cause": causes[(n + at) % len(causes)],
             "happened_on": SOWN + dt.timedelta(days=30 * at), "act": f"l{n}-{at}"}
            for at, count in enumerate(lost)
        ]  # fmt: skip
        moves.append(
            {**same, "kind": PlantMovementKind.DISPATCHED, "change": -left, "site_id": site, "target_id": target,
             "happened_on": dt.date(2025, 12, 1), "act": f"d{n}"}
        )  # fmt: skip
        counts += [
            {"batch_id": n, "stage": stage, "counted_on": SOWN + dt.timedelta(days=60 * at), "plants": left,
             "low": left, "high": left, "trays": 10, "before": plants, "person": WHO}
            for at, stage in enumerate(list(Stage)[1:], 1)
        ]  # fmt: skip
        plantings.append(
            {"site_id": site, "lot_id": lot, "batch_id": n, "plants": left, "people": "Crew and neighbours",
             "planted_on": dt.date(2025, 12, 2) + dt.timedelta(days=n % 40), "hours": left / 30, "volunteers": 5,
             "area_m2": left * 4.0}
        )  # fmt: skip
    for model, rows in ((Batch, batches), (PlantMovement, moves), (Count, counts), (Planting, plantings)):
        session.execute(insert(model), rows)


def _surveys(session: Session, pairs: dict[tuple[int, int], int], rng: np.random.Generator) -> None:
    sites = range(1, SITES + 1)
    session.execute(insert(SurveyPlot), [{"id": n, "site_id": n, "name": "A"} for n in sites])
    session.execute(
        insert(Survey),
        [{"id": n, "plot_id": n, "season": SEASON, "year": 1, "surveyed_on": dt.date(2026, 10, 1), "person": WHO,
          "at": utc_now()} for n in sites],
    )  # fmt: skip
    session.execute(
        insert(SurveyCount),
        [
            {"survey_id": site, "species_id": species, "planted": 50, "alive": int(rng.integers(20, 50)),
             "causes": {"drought": 1}, "replacements_alive": 0}
            for species, site in pairs
        ],
    )  # fmt: skip


def _work(session: Session, rng: np.random.Generator) -> None:
    session.execute(
        insert(Person),
        [{"id": n, "name": f"Person {n}", "is_volunteer": n % 2 == 0, "hours_per_week": 20, "feed_token": f"t{n}"}
         for n in range(1, 21)],
    )  # fmt: skip
    jobs = list(Job)
    session.execute(
        insert(WorkTime),
        [
            {"worked_on": dt.date(2025, 7, 1) + dt.timedelta(days=n % 360), "job": jobs[n % len(jobs)],
             "hours": float(rng.integers(1, 8)), "worker_id": 1 + n % 20, "batch_id": 1 + n % BATCHES,
             "person": WHO}
            for n in range(HOURS)
        ],
    )  # fmt: skip
    session.execute(
        insert(Expense),
        [{"spent_on": dt.date(2025, 9, 1), "what": f"Bill {n}", "amount": 10.5 + n, "funder": f"Fund {n % 4}"}
         for n in range(60)],
    )  # fmt: skip


if __name__ == "__main__":
    run()
