"""Who pays for targets and expenses."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select, union
from sqlalchemy.orm import Session

from nursery.models import Expense, Target


def funders(session: Session) -> Sequence[str]:
    """Funders that active targets and expenses name, in order."""
    named = union(
        select(Target.funder).where(Target.archived_at.is_(None), Target.funder != ""),
        select(Expense.funder).where(Expense.archived_at.is_(None), Expense.funder != ""),
    )
    return sorted(session.scalars(named), key=str.casefold)
