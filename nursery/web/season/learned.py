"""The species whose rates moved most by what was seen here."""

from __future__ import annotations

from typing import Any

from nursery.services.learned.moved import rates_moved
from nursery.web.session import db

#: Species shown; the others are counted.
SHOWN = 4


def context() -> dict[str, Any]:
    """Values of the card."""
    moved = rates_moved(db())
    return {"moved": moved[:SHOWN], "moved_more": max(len(moved) - SHOWN, 0)}
