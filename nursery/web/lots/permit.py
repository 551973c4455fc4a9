"""What the page of a lot says about its permit, and whether it may be sown."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from nursery.models import Lot
from nursery.services.permits.books import coverage_of
from nursery.services.permits.covering import Coverage
from nursery.services.permits.holding import HELD, last_hold
from nursery.web.lots.permit_field import check_words
from nursery.web.session import db


def context(row: Lot) -> Mapping[str, Any]:
    """The answers of the permits to this lot; none while no permit is written down."""
    hold = last_hold(db(), row) if row.is_held else None
    coverage = _coverage(row)
    # A permit is written down and yet nothing was asked of it: the parents were checked, and they are reported.
    is_made = coverage is None and row.permit is not None and row.permit.archived_at is None
    report_by: dt.date | None = None
    if row.permit is not None and row.permit.report_days is not None and not is_made:
        report_by = row.collected_on + dt.timedelta(days=row.permit.report_days)
    return {
        "coverage": coverage,
        "is_made": is_made,
        "check_words": check_words(),
        "hold": hold,
        "hold_reason": hold.details["reason"][1] if hold is not None and hold.action == HELD else "",
        "report_by": report_by,
    }


def _coverage(row: Lot) -> Coverage | None:
    """Seed that was received was collected under somebody else's permit."""
    return None if row.is_received else coverage_of(db(), row)


def remarks(row: Lot) -> Sequence[tuple[str, str]]:
    """What is said after a lot was saved."""
    coverage = _coverage(row)
    if coverage is None:
        return ()
    if coverage.is_covered:
        return ((coverage.sentence, "ok"),)
    return ((coverage.sentence, "stop" if row.is_held else "caution"),)
