"""Rows on what went otherwise, and on what was let through against a rule."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nursery.services.season_report.rows import table
from nursery.services.season_report.scope import Scope
from nursery.services.season_report.stories import Overridden, Told


def story_tables(scope: Scope, told: Sequence[Told], overrides: Sequence[Overridden]) -> dict[str, dict[str, Any]]:
    """By key."""
    return {
        "deviations": table(
            ("day", "where", "what", "why", "action"),
            ((one.day.isoformat(), scope.site_name(one.site_id), one.what, one.why, one.action) for one in told),
        ),
        "overrides": table(
            ("override", "subject", "to_site", "reason", "person", "day", "withdrawn_on"),
            (
                (
                    one.kind, one.what, scope.site_name(one.site_id), one.reason, one.person, one.day.isoformat(),
                    one.withdrawn_on.isoformat() if one.withdrawn_on else None,
                )
                for one in overrides
            ),
        ),
    }  # fmt: skip
