"""Lots that an earlier collection, written down or corrected after them, pushes beyond the cap of their permit."""

from __future__ import annotations

from collections.abc import Collection, Container, Iterator, Mapping

from sqlalchemy.orm import Session

from nursery.services.permits.accounts import Account, same_measure
from nursery.services.permits.books import any_permit, read_book
from nursery.services.permits.covering import Book
from nursery.services.permits.takings import Taking


def remember(book: Book) -> dict[int, Account]:
    """The accounts of all lines as they stand, by line."""
    return {
        line_id: account.copy() for permit in book.permits for line_id, account in book.accounts(permit).items()
    }


def accounts_now(session: Session, species_ids: Collection[int] | None = None) -> dict[int, Account]:
    """The accounts before lots of these species, or of any, change: so is found what is pushed beyond a cap."""
    session.flush()
    if not any_permit(session):
        return {}
    return remember(read_book(session, species_ids=species_ids, lock=True))


def pushed_beyond(book: Book, before: Mapping[int, Account], checked: Container[int]) -> Iterator[Taking]:
    """Lots within their cap by the accounts ``before``, and beyond it now; those just checked are left out."""
    for permit in book.permits:
        now = book.accounts(permit)
        for line, taking in book.under(permit):
            if line is None or taking.lot_id in checked or taking.is_made or not same_measure(line, taking):
                continue
            cap = line.cap_mg if taking.by_weight else line.cap_pieces
            if cap is None:
                continue
            room = cap - taking.amount
            if before[line.id].before(taking) <= room < now[line.id].before(taking):
                yield taking
