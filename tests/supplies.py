"""Supplies for tests."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy.orm import Session

from nursery.models import Supply
from nursery.models.supplies import SupplyKind, SupplyUnit
from nursery.services.supplies.records import create_supply


def a_supply(session: Session, **values: Any) -> Supply:
    """Substrate, unless something else is asked for."""
    defaults: dict[str, Any] = {
        "name": "Bark mix", "kind": SupplyKind.SUBSTRATE, "unit": SupplyUnit.LITRES, "container_id": None,
        "pack": None, "price_per_pack": None, "supplier": "", "lead_days": None, "safety_stock": None,
        "use_per_1000_plants": None, "notes": "",
    }  # fmt: skip
    return create_supply(session, "Ana", values={**defaults, **values}, today=dt.date(2026, 11, 25))
