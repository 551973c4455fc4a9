"""Sums of the movement book: what truly came in and left, by measure, over all rows that are asked for."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import and_, case, func, select
from sqlalchemy.orm import Session

from nursery.services.movement_book.asking import Asked, ledger_rows


@dataclass(frozen=True, slots=True)
class Total:
    """What came in and what left of one measure, in milligrams, pieces or plants; both above zero."""

    measure: str
    came: int
    left: int
    rows: int

    @property
    def balance(self) -> int:
        """What the rows leave behind."""
        return self.came - self.left


def read_totals(session: Session, asked: Asked) -> list[Total]:
    """One line a measure, in one query (and what it takes to find merged batches)."""
    book = ledger_rows(session, asked).c
    came = func.sum(case((and_(book.is_summed, book.change > 0), book.change), else_=0))
    left = -func.sum(case((and_(book.is_summed, book.change < 0), book.change), else_=0))
    rows = session.execute(
        select(book.measure, came, left, func.count()).group_by(book.measure).order_by(book.measure)
    )
    return [Total(str(measure), int(into), int(out), int(count)) for measure, into, out, count in rows]
