"""Two sites in one region, a lot of the region, a plan in force, and batches sown as it asks."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Lot, PlanLine, Target
from nursery.planning.growing.words import Stage
from nursery.services.batches.counting import record_count
from nursery.services.batches.sowing import sow
from nursery.services.planning import adopt_plan, make_plan
from tests.conftest import TODAY, Maker

ANA = "Ana Seabra"
SITE: dict[str, Any] = {"region_code": "R1", "window_opens": "11-01", "window_closes": "02-28"}


class Season:
    """Two targets of 400 plants each in 2027/28, north and south."""

    def __init__(self, session: Session, maker: Maker, today: dt.date = TODAY) -> None:
        self.session, self.maker, self.today = session, maker, today
        place = {"region_code": "R1", "species": maker.species()}
        self.lot: Lot = maker.lot(population=maker.population(**place), amount_mg=40_000_000)
        self.container = maker.container()
        sites = [maker.site(name=name, **SITE) for name in ("North bank", "South bank")]
        self.north, self.south = (
            maker.target(site=site, plants=400, season=2027, container_id=self.container.id) for site in sites
        )
        plan = make_plan(session, ANA, today=today)
        adopt_plan(session, ANA, plan_id=plan.id)
        self.plan_id = plan.id

    def line(self, target: Target) -> PlanLine:
        """What the plan in force asks for."""
        found = self.session.scalar(
            select(PlanLine).where(PlanLine.plan_id == self.plan_id, PlanLine.target_id == target.id)
        )
        assert found is not None
        return found

    def sow(self, target: Target | None, *, part: float = 1.0, lot: Lot | None = None) -> Batch:
        """A part of what the plan asks for; for nobody, as much as for the north."""
        line = self.line(target or self.north)
        return sow(
            self.session, ANA, lot=lot or self.lot, seeds=round(line.seeds * part),
            trays=math.ceil(line.trays * part), container_id=self.container.id, method=line.method,
            protocol=line.protocol, sown_on=self.today, today=self.today,
            target_id=target.id if target else None, line_id=line.id if target else None,
            seeds_per_cell=line.seeds_per_cell,
        )  # fmt: skip

    def count(self, batch: Batch, stage: Stage, plants: int, days: int) -> dt.date:
        """Count all of it, so many days after the sowing."""
        day = self.today + dt.timedelta(days=days)
        record_count(self.session, ANA, batch=batch, stage=stage, plants=plants, counted_on=day, today=day)
        return day
