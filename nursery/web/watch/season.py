"""The seed watch on the season page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from nursery.services.watch_words import REASON_LABELS
from nursery.web.session import db, today

#: Rows of the card; the list shows all.
ROWS = 5


def context() -> Mapping[str, Any]:
    """How many lots there are for each reason, and the most pressing."""
    from nursery.services.watching import watch_lots  # noqa: PLC0415 -- slow import

    watched = watch_lots(db(), today=today())
    counts = Counter(each.reason for each in watched)
    return {
        "watch_counts": [(label, counts[reason], reason.value) for reason, label in REASON_LABELS.items()],
        "watched": watched[:ROWS],
        "watch_labels": REASON_LABELS,
    }
