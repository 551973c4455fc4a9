"""Which version of which set of rules holds on a day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import RuleSet, RuleVersion
from nursery.planning.origin.defaults import DEFAULT_RULES


@dataclass(frozen=True, slots=True)
class Followed:
    """A version that sites follow; ``version_id`` is None for the rules a database starts with, before any set."""

    version_id: int | None
    rule_set_id: int | None
    name: str
    valid_from: dt.date | None
    rules: Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True)
class InForce:
    """Versions in force on a day, the default set's first."""

    versions: Sequence[Followed]

    def row_of(self, rule_set_id: int | None) -> int:
        """Position of the version a site follows; a set without a version in force leaves it to the default."""
        return next((row for row, one in enumerate(self.versions) if one.rule_set_id == rule_set_id), 0)


def read_in_force(session: Session, day: dt.date) -> InForce:
    """The newest version of each set that is valid on ``day``, in one query."""
    rows = session.execute(
        select(RuleVersion, RuleSet)
        .join(RuleVersion.rule_set)
        .where(RuleVersion.valid_from <= day)
        .order_by(RuleVersion.valid_from, RuleVersion.id)
    )
    newest = {rule_set.id: (version, rule_set) for version, rule_set in rows}
    ordered = sorted(newest.values(), key=lambda pair: (not pair[1].is_default, pair[1].id))
    found = [
        Followed(version.id, rule_set.id, rule_set.name, version.valid_from, version.rules)
        for version, rule_set in ordered
    ]
    if not ordered or not ordered[0][1].is_default:
        found.insert(0, Followed(None, None, "", None, DEFAULT_RULES))
    return InForce(found)
