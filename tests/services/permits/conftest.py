"""A lot written down as a form does, for all tests of permits."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Lot
from nursery.services.lots import create_lot

ANA = "Ana Seabra"


@pytest.fixture
def write(session: Session, maker: Any, today: dt.date) -> Any:
    """Write a lot down as a form does."""
    stand = maker.population(region_code="RP-3")

    def write(**values: Any) -> Lot:
        defaults = {
            "population_id": stand.id, "collected_on": dt.date(2026, 10, 20), "amount_mg": 2_000_000,
            "pieces": None,
        }  # fmt: skip
        return create_lot(session, ANA, values={**defaults, **values}, today=today)

    return write
