"""A lot in pieces, a container, two benches, two sites, and sowings in a line."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Batch, Bench, Container, Lot, Site
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.services import batches

ANA = "Ana Seabra"
TODAY = dt.date(2026, 11, 25)
SOWN = dt.date(2026, 9, 1)
EMERGED = dt.date(2026, 10, 1)


@dataclass
class Floor:
    """What batches are made of."""

    session: Session
    maker: Any
    lot: Lot
    container: Container
    benches: list[Bench]
    site: Site

    def sow(self, **values: Any) -> Batch:
        """400 seeds, one in each of the cells of ten trays, unless told otherwise."""
        given = {
            "lot": self.lot, "seeds": 400, "trays": 10, "container_id": self.container.id, "method": Method.DIRECT,
            "protocol": "", "sown_on": SOWN, "today": TODAY,
        }  # fmt: skip
        return batches.sow(self.session, ANA, **{**given, **values})

    def counted(self, plants: int = 300, **values: Any) -> Batch:
        """A batch sown and counted once, whole."""
        batch = self.sow(**values)
        self.count(batch, plants)
        return batch

    def count(
        self, batch: Batch, plants: int | None = None, stage: Stage = Stage.EMERGED, on: dt.date = EMERGED,
        **values: Any,
    ) -> Any:  # fmt: skip
        """A count."""
        return batches.record_count(
            self.session, ANA, batch=batch, stage=stage, counted_on=on, today=TODAY, plants=plants, **values
        )


@pytest.fixture
def floor(session: Session, maker: Any) -> Floor:
    nursery = maker.nursery()
    stand = maker.population(code="P-900", region_code="R1")
    lot = maker.lot(code="L/A", pieces=5000, population=stand, collected_on=dt.date(2026, 8, 20), germination=0.8,
                    tested_on=dt.date(2026, 8, 30))  # fmt: skip
    benches = [maker.bench(nursery=nursery, name=name) for name in ("North", "South")]
    return Floor(session, maker, lot, maker.container(nursery=nursery), benches, maker.site(name="Long bank"))


@pytest.fixture
def refusal() -> Callable[[Any], str]:
    """The words of a refusal."""
    return lambda caught: str(caught.value)
