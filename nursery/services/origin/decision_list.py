"""All decisions about lots at sites, those that stand and those that were withdrawn."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload

from nursery.models import Decision, Lot

PAGE = 50


def read_decisions(session: Session, *, standing: bool, page: int | None = None) -> tuple[Sequence[Decision], int]:
    """One page of the newest first (all of them without a number), and how many there are; in two queries.

    Withdrawn ones are left out where only those that stand are asked for.
    """
    asked = [Decision.withdrawn_at.is_(None)] if standing else []
    total = session.scalar(select(func.count()).select_from(Decision).where(*asked)) or 0
    query = select(Decision).where(*asked).order_by(Decision.id.desc())
    if page is not None:
        query = query.offset(page * PAGE).limit(PAGE)
    of_lot = joinedload(Decision.lot).joinedload(Lot.species)
    return session.scalars(
        query.options(of_lot, joinedload(Decision.site), joinedload(Decision.target))
    ).all(), total
