"""Pages of the movement book, newest day first, each row with whoever gave or took."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, and_, or_, select
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models.batches import PlantMovementKind
from nursery.models.movements import Measure, MovementKind
from nursery.services.batches.words import KIND_LABELS as PLANT_KINDS
from nursery.services.ledger.words import KIND_LABELS as SEED_KINDS
from nursery.services.movement_book.asking import PLANTS, SEED, Asked, ledger_rows
from nursery.services.movement_book.naming import Names, read_names

PAGE = 50
_PORTION = 500


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of the book; amounts in milligrams, pieces or plants, below zero for what left."""

    day: dt.date
    species: str
    #: Lots and the batch by id and code.
    lots: tuple[tuple[int, str], ...]
    batch: tuple[int, str] | None
    what: str
    #: Who gave it or took it: supplier, recipient, site, another lot or batch.
    partner: str
    measure: str
    change: int
    #: Numbers of the papers, and the load.
    papers: str
    person: str
    reason: str
    #: False for mistakes, their corrections, and what was only written back because it was missing on the way.
    is_summed: bool


@dataclass(frozen=True)
class BookPage:
    """A page and where the next begins."""

    entries: Sequence[Entry]
    after: str


def read_page(session: Session, asked: Asked, *, after: str = "", size: int = PAGE) -> BookPage:
    """The newest rows, or those after a row; nonsense begins at the newest."""
    rows = _rows(session, asked, _cursor(after), size + 1)
    cut = rows[:size]
    last = cut[-1] if len(rows) > size else None
    names = read_names(session, cut)
    following = f"{last.day.isoformat()}.{last.source}.{last.id}" if last is not None else ""
    return BookPage([_entry(row, names) for row in cut], following)


def read_all(session: Session, asked: Asked) -> Iterator[Entry]:
    """Every row, in portions."""
    after: tuple[dt.date, str, int] | None = None
    while rows := _rows(session, asked, after, _PORTION):
        names = read_names(session, rows)
        yield from (_entry(row, names) for row in rows)
        after = (rows[-1].day, rows[-1].source, rows[-1].id)


def _rows(session: Session, asked: Asked, after: tuple[dt.date, str, int] | None, size: int) -> Sequence[Any]:
    book = ledger_rows(session, asked).c
    query: Select[Any] = select(*book).order_by(book.day.desc(), book.source, book.id.desc()).limit(size)
    if after is not None:
        day, source, row_id = after
        query = query.where(
            or_(
                book.day < day,
                and_(book.day == day, book.source > source),
                and_(book.day == day, book.source == source, book.id < row_id),
            )
        )
    return session.execute(query).all()


def _cursor(text: str) -> tuple[dt.date, str, int] | None:
    day, _dot, rest = text.partition(".")
    source, _dot, row_id = rest.partition(".")
    if source not in (SEED, PLANTS) or not row_id.isascii() or not row_id.isdigit() or len(row_id) > 10:
        return None
    try:
        return dt.date.fromisoformat(day), source, int(row_id)
    except ValueError:
        return None


def _entry(row: Any, names: Names) -> Entry:
    return Entry(
        day=row.day, species=names.species[row.species_id], lots=names.lots_of(row), batch=names.batch_of(row),
        what=_named(row, names), partner=names.partner(row),
        measure=str(row.measure), change=row.change, papers=names.papers_of(row), person=row.person,
        reason=row.reason, is_summed=bool(row.is_summed),
    )  # fmt: skip


def _named(row: Any, names: Names) -> str:
    what = _what(row, names)
    if row.kind != row.of_kind:
        return _("Correction of: %(what)s", what=what)
    return _("%(what)s (corrected)", what=what) if row.is_corrected else what


def _what(row: Any, names: Names) -> str:
    if names.is_received(row):
        return _("Received")
    if names.is_missing(row):
        return _("Missing on the way")
    if names.is_lost(row):
        return _("Lost on the way")
    if row.source == SEED:
        return str(SEED_KINDS[MovementKind(row.of_kind)])
    return str(PLANT_KINDS[PlantMovementKind(row.of_kind)])


def is_weight(measure: str) -> bool:
    """Whether an amount is in milligrams."""
    return measure in (Measure.SEED.value, Measure.FRUIT.value)
