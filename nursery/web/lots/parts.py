"""What a lot's page shows beyond the lot itself; each part brings its own values and its own template."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from nursery.models import Lot
from nursery.web.lots import facts, keeping, ledger, mothers, permit, plantings, tests

#: Parts in the order of the page: a function that reads a part's values.
PARTS: tuple[Callable[[Lot], Mapping[str, Any]], ...] = (
    facts.context,
    ledger.context,
    permit.context,
    keeping.context,
    tests.context,
    mothers.context,
    plantings.context,
)


def context(row: Lot) -> dict[str, Any]:
    """Values of all parts."""
    return {key: value for part in PARTS for key, value in part(row).items()}
