"""What the season page shows of the seed behind the plan; each part brings its own values and its own template."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from nursery.web.season import forecast, learned, ledger
from nursery.web.watch import season as watch
from nursery.web.work import season as work

#: Parts in the order of the page; their templates are included in the section “Seed” of season/home.html.
PARTS: tuple[Callable[[], Mapping[str, Any]], ...] = (
    forecast.context, work.context, watch.context, learned.context, ledger.context,
)  # fmt: skip


def context() -> dict[str, Any]:
    """Values of all parts."""
    return {key: value for part in PARTS for key, value in part().items()}
