"""How many plants of each line whoever takes a load over may have got.

What came back before anybody took the load over never arrived. What came back after that had arrived, and is
counted within what was received, also where the receipt is taken back and written down again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Change, Dispatch
from nursery.services.dispatches.sums import line_sums


@dataclass(frozen=True, slots=True)
class Expected:
    """Plants of one line."""

    #: Were on the way.
    most: int
    #: Of these, came back after they had arrived.
    came_back: int


def expected(session: Session, load: Dispatch) -> Mapping[int, Expected]:
    """By line id; what was missing when the load was taken over is on the way again."""
    since = None
    if any(line.returns for line in load.lines):
        acts = session.execute(
            select(Change.action, Change.at)
            .where(Change.subject == Dispatch.__tablename__, Change.subject_id == load.id)
            .where(Change.action.in_(("load sent", "load received")))
            .order_by(Change.id)
        )
        for action, at in acts:
            since = None if action == "load sent" else since or at
    found = {}
    for line in load.lines:
        back = [one for one in line.returns if since is not None and not one.is_missing and one.at >= since]
        came_back = sum(one.plants for one in back)
        found[line.id] = Expected(line_sums(line).at_site + came_back, came_back)
    return found
