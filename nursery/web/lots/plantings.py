"""Where plants of a lot were planted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.models import Lot, Planting
from nursery.services.plantings import LISTING
from nursery.web.listing import view_list


def context(row: Lot) -> Mapping[str, Any]:
    """Its plantings."""
    return {"plantings": view_list(LISTING, where=(Planting.lot_id == row.id,))}
