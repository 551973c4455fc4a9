"""A yard with batches ready, and a load planned from them."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Batch, Dispatch, Site, Target
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.services import batches
from nursery.services.dispatches import planning

ANA = "Ana Seabra"
SOWN = dt.date(2026, 9, 1)


@dataclass
class Yard:
    """A site with a target, a batch grown for it, a free one, and one that the rules of origin keep out."""

    site: Site
    target: Target
    own: Batch
    free: Batch
    far: Batch


@pytest.fixture
def yard(session: Session, maker: Any, today: dt.date) -> Yard:
    nursery = maker.nursery(name="Azenha yard")
    container = maker.container(nursery=nursery, name="Tray of forty")
    near = maker.population(code="P-901", region_code="R1", indigenous_status="indigenous")
    away = maker.population(code="P-902", region_code="R9", latitude=38.0, longitude=-8.6)
    site = maker.site(code="S-900", name="Long bank", region_code="R1")
    target = maker.target(site=site, season=2026, plants=400)
    made = []
    for code, stand, plants, goal in (
        ("L/A", near, 300, target.id), ("L/B", near, 200, None), ("L/C", away, 100, None),
    ):  # fmt: skip
        lot = maker.lot(code=code, pieces=5000, population=stand, collected_on=dt.date(2026, 8, 20))
        batch = batches.sow(
            session, ANA, lot=lot, seeds=400, trays=10, container_id=container.id, method=Method.DIRECT,
            protocol="", sown_on=SOWN, today=today, target_id=goal,
            bench_id=maker.bench(nursery=nursery, name=f"Bench {code[-1]}").id,
        )  # fmt: skip
        for stage, day in ((Stage.EMERGED, dt.date(2026, 10, 1)), (Stage.READY, dt.date(2026, 11, 20))):
            batches.record_count(
                session, ANA, batch=batch, stage=stage, counted_on=day, today=today, plants=plants
            )
        made.append(batch)
    session.commit()
    return Yard(site, target, *made)


@pytest.fixture
def load(session: Session, yard: Yard, today: dt.date) -> Dispatch:
    """A planned load of two batches."""
    found = planning.plan_load(
        session, ANA, site_id=yard.site.id, planned_on=today, today=today,
        lines=[{"batch_id": yard.own.id, "plants": 120}, {"batch_id": yard.free.id, "plants": 30}],
    )  # fmt: skip
    session.commit()
    return found
