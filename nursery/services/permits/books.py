"""The permits in force read from the database, with what was taken under them."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import exists, select
from sqlalchemy.orm import Session, joinedload, selectinload

from nursery.models import Lot, Permit, PermitLine
from nursery.services.permits.covering import Book, Coverage
from nursery.services.permits.takings import read_takings, takings_of


def any_permit(session: Session) -> bool:
    """Whether the nursery has written down a permit that is not archived; without one nothing is checked."""
    return bool(session.scalar(select(exists().where(Permit.archived_at.is_(None)))))


def read_book(
    session: Session,
    *,
    species_ids: Collection[int] | None = None,
    permit_id: int | None = None,
    lock: bool = False,
) -> Book:
    """Permits and what was taken under them, in four queries; narrowed to the lots of some species or one permit.

    ``lock`` makes other writers wait, so that two lots cannot both take the last of an allowance.
    """
    permits = select(Permit).order_by(Permit.id)
    if permit_id is None:
        permits = permits.where(Permit.archived_at.is_(None))
    else:
        permits = permits.where(Permit.id == permit_id)
    if lock:
        permits = permits.with_for_update()
    loaded = session.scalars(
        permits.options(selectinload(Permit.lines).options(joinedload(PermitLine.species)))
    ).all()
    where = [Lot.permit_id.is_not(None)] if permit_id is None else [Lot.permit_id == permit_id]
    if species_ids is not None:
        where.append(Lot.species_id.in_(species_ids))
    book = Book(loaded)
    if loaded:
        for taking in read_takings(session, *where):
            book.takings[taking.permit_id or 0][taking.lot_id] = taking
    return book


def coverage_of(session: Session, lot: Lot) -> Coverage | None:
    """What the permits say to a lot today; None while no permit is written down, or for a lot made from others."""
    book = read_book(session, species_ids={lot.species_id})
    if not book.permits:
        return None
    (taking,) = takings_of(session, [lot.id])
    return None if taking.is_made else book.find(taking)
