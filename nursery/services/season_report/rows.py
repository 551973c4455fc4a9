"""Tables as the figures hold them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any


def table(
    columns: Sequence[str], rows: Iterable[Sequence[Any]], total: Sequence[Any] | None = None
) -> dict[str, Any]:
    """Keys of columns, rows of raw values, and a row of sums or None."""
    return {
        "columns": list(columns),
        "rows": [list(row) for row in rows],
        "total": None if total is None else list(total),
    }


def share(part: float, whole: float) -> float | None:
    """A part of a whole as 0–1; None where there is no whole."""
    return part / whole if whole else None
