"""A small growing floor: a nursery with two benches, a container, two lots and a batch sown of one."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Batch, Bench, Container, Lot, Site, Target
from nursery.planning.words import Method
from nursery.services import batches

SOWN = dt.date(2026, 11, 2)


@dataclass
class Floor:
    """Everything that a test may ask for."""

    lot: Lot
    other: Lot
    container: Container
    benches: list[Bench]
    site: Site
    target: Target
    batch: Batch


@pytest.fixture
def floor(session: Session, maker: Any, today: dt.date) -> Floor:
    """Ten trays of forty cells, sown one seed in each, standing on the first bench; nothing counted yet."""
    nursery = maker.nursery(name="Azenha yard")
    container = maker.container(nursery=nursery, name="Tray of forty")
    benches = [maker.bench(nursery=nursery, name=name) for name in ("North", "South")]
    stand = maker.population(region_code="R1", code="P-900", indigenous_status="indigenous")
    lot, other = maker.lot(code="L/A", pieces=2000, population=stand), maker.lot(code="L/B", pieces=900)
    site = maker.site(code="S-900", name="Long bank")
    target = maker.target(site=site)
    batch = batches.sow(
        session, "Ana Seabra", lot=lot, seeds=400, trays=10, container_id=container.id, method=Method.DIRECT,
        protocol="", sown_on=SOWN, today=today, bench_id=benches[0].id, target_id=target.id,
    )  # fmt: skip
    session.commit()
    return Floor(lot, other, container, benches, site, target, batch)
