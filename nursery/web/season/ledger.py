"""The ledger's card on the season page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.services.ledger.glance import latest_movements, mixed_lots
from nursery.services.ledger.words import KIND_LABELS, amount_text
from nursery.web.session import db


def context() -> Mapping[str, Any]:
    """What happened to the seed lately."""
    return {
        "ledger_latest": latest_movements(db()),
        "ledger_mixed": mixed_lots(db()),
        "ledger_kinds": KIND_LABELS,
        "ledger_amount": amount_text,
    }
