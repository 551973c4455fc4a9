"""A site with a target in its own region, a batch grown for it, a free one, and one from far away."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Batch, Bench, Dispatch, DispatchLine, Site, Target
from nursery.planning.growing.words import Stage
from nursery.services.dispatches import planning, sending
from tests.services.batches.conftest import ANA, TODAY, Floor, floor

__all__ = ["ANA", "TODAY", "Yard", "floor"]

GRADED = dt.date(2026, 11, 20)
#: Yesterday, so that a receipt may come after.
SENT = dt.date(2026, 11, 23)


@dataclass
class Yard:
    """Everything that a test of loads may ask for."""

    session: Session
    maker: Any
    site: Site
    target: Target
    benches: list[Bench]
    #: 300 ready plants grown for the target; 200 ready plants for anyone; 100 of a region that is not let in.
    own: Batch
    free: Batch
    far: Batch

    def load(self, *lines: tuple[Batch, int], **values: Any) -> Dispatch:
        """A planned load."""
        return planning.plan_load(
            self.session, ANA, site_id=self.site.id, planned_on=SENT, today=TODAY,
            lines=[{"batch_id": batch.id, "plants": plants} for batch, plants in lines], **values,
        )  # fmt: skip

    def sent(self, *lines: tuple[Batch, int], **values: Any) -> Dispatch:
        """A load on the road."""
        load = self.load(*lines)
        sending.send(self.session, ANA, load=load, sent_on=SENT, today=TODAY, **values)
        return load

    def line(self, load: Dispatch, batch: Batch) -> DispatchLine:
        """The line of a batch."""
        return next(line for line in load.lines if line.batch_id == batch.id)


@pytest.fixture
def yard(session: Session, maker: Any, floor: Floor) -> Yard:
    region = {"region_code": "R1", "indigenous_status": "indigenous"}
    near = maker.population(code="P-901", **region)
    away = maker.population(code="P-902", region_code="R9", latitude=38.0, longitude=-8.6)
    given = {"collected_on": dt.date(2026, 8, 20), "pieces": 5000}
    lots = [maker.lot(code=f"L/{n}", population=stand, **given) for n, stand in enumerate((near, away))]
    site = maker.site(name="Long bank", region_code="R1")
    target = maker.target(site=site, season=2026, plants=400)
    batches = []
    for lot, bench, plants, goal in (
        (lots[0], 0, 300, target.id), (lots[0], 1, 200, None), (lots[1], 1, 100, None),
    ):  # fmt: skip
        batch = floor.counted(plants, lot=lot, bench_id=floor.benches[bench].id, target_id=goal)
        floor.count(batch, plants, stage=Stage.READY, on=GRADED)
        batches.append(batch)
    session.flush()
    return Yard(session, maker, site, target, floor.benches, *batches)
