"""Permits at a glance, for the season page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, Species
from nursery.services.permits.allowances import Allowance, read_allowances
from nursery.services.permits.books import read_book
from nursery.services.permits.tasks import PermitTask, read_tasks


@dataclass(frozen=True, slots=True)
class HeldLot:
    """A lot that no plan draws."""

    id: int
    code: str
    species_name: str
    species_id: int


@dataclass(frozen=True, slots=True)
class PermitsGlance:
    """What deserves a look: tasks, lines nearly spent, lots on hold."""

    permits: int
    tasks: Sequence[PermitTask]
    nearly_spent: Sequence[Allowance]
    held: Sequence[HeldLot]


def glance_at_permits(session: Session, *, today: dt.date) -> PermitsGlance:
    """Permits in force with their tasks, in a fixed number of queries."""
    book = read_book(session)
    allowances = read_allowances(session, book) if book.permits else []
    spent = [a for a in allowances if a.is_nearly_spent and a.permit.valid_to >= today]
    return PermitsGlance(
        permits=len(book.permits),
        tasks=read_tasks(session, book, allowances, today) if book.permits else [],
        nearly_spent=sorted(spent, key=lambda a: (-a.used, a.permit.id, a.line.id)),
        held=held_lots(session),
    )


def held_lots(session: Session, *, species_ids: Sequence[int] | None = None) -> Sequence[HeldLot]:
    """Lots on hold, the newest first."""
    query = (
        select(Lot.id, Lot.code, Species.scientific_name.label("species_name"), Lot.species_id)
        .join(Species, Lot.species_id == Species.id)
        .where(Lot.is_held, Lot.archived_at.is_(None))
        .order_by(Lot.id.desc())
    )
    if species_ids is not None:
        query = query.where(Lot.species_id.in_(species_ids))
    return [HeldLot(*row) for row in session.execute(query)]
