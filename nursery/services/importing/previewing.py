"""Reading a file without writing anything."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any

from sqlalchemy.orm import Session

from nursery.services.importing.book import Book, open_book
from nursery.services.importing.checking import file_area, read_rows, recognise, refuse_rows
from nursery.services.importing.existing import Existing
from nursery.services.importing.from_map import fill_rows, find_map_codes
from nursery.services.importing.kinds import Kind, find_kind
from nursery.services.importing.matching import heading_test, settle_mapping
from nursery.services.importing.outcome import Changed, Finding, Preview, Sample, Write
from nursery.services.importing.rows import Row, same
from nursery.services.importing.showing import shown
from nursery.services.importing.text import shortened
from nursery.tabular.reader import read_table
from nursery.tabular.table import Table

#: Rows shown as they were understood.
SAMPLE_ROWS = 8
#: Fields that would change, shown with what they hold now.
CHANGES_SHOWN = 200


def preview(
    session: Session,
    *,
    kind: str,
    file_name: str,
    content: bytes,
    today: dt.date,
    mapping: Sequence[str] | None = None,
    from_map: bool = False,
) -> Preview:
    """What importing the file would do; ``mapping`` names the field of each column, None matches by heading.

    ``from_map`` fills empty codes of places from the map; without it the preview only says which could be.

    Raises ``Invalid`` with the field ``file`` when the file cannot be read at all.
    """
    chosen = find_kind(kind)
    table = read_table(content, heading_test(chosen))
    fields = settle_mapping(chosen, table.headings, mapping)
    book = _open_book(session, chosen)
    rows = read_rows(chosen, table, fields, book, today)
    book.area = book.area or file_area(rows)
    recognise(chosen, rows, Existing(session, chosen, book.species_key))
    refuse_rows(chosen, rows)
    good = [row for row in rows if not row.problems]
    codes = find_map_codes(session, chosen, good)
    if from_map:
        fill_rows(good, codes)
    writes = list(_writes(good))
    return Preview(
        kind=chosen,
        file_name=file_name,
        layout=table.layout,
        headings=table.headings,
        mapping=fields,
        missing=tuple(column for column in chosen.columns if column.required and column.key not in fields),
        rows=len(rows),
        writes=writes,
        unchanged=len(good) - len(writes),
        refused=len(rows) - len(good),
        findings=tuple(findings_of(chosen, table, fields, rows)),
        samples=tuple(_samples(chosen, table, fields, rows, book)),
        changes=tuple(islice(_changes(chosen, writes, book), CHANGES_SHOWN)),
        map_codes=codes,
        from_map=from_map,
    )


def _open_book(session: Session, kind: Kind) -> Book:
    fields = {column.key for column in kind.columns}
    return open_book(
        session,
        (column.refers_to for column in kind.columns if column.refers_to),
        with_collected=kind.key == "populations",
        with_area="latitude" in fields,
        with_tests=kind.key == "lots",
        with_loads=kind.key == "plantings",
    )


def _writes(rows: Sequence[Row]) -> Iterator[Write]:
    for row in rows:
        old = row.existing
        if old is None:
            yield Write(row.number, None, 0, row.given, {})
            continue
        # The code is how the record was found; its letters stay as they are on record.
        changes = {key: value for key, value in row.given.items() if key != "code" and not same(value, old[key])}
        if changes:
            yield Write(row.number, old["id"], old["version"], changes, old)


def _changes(kind: Kind, writes: Sequence[Write], book: Book) -> Iterator[Changed]:
    for write in writes:
        if write.record_id is None:
            continue
        then = write.record | write.values
        for column in kind.columns:
            before, after = shown(column, write.record, book), shown(column, then, book)
            if before != after:
                yield Changed(write.row, str(write.record.get("code", "")), str(column.label), before, after)


def findings_of(kind: Kind, table: Table, fields: Sequence[str], rows: Sequence[Row]) -> Iterator[Finding]:
    """What is wrong with cells, with the heading and the value as the file has them."""
    place = {key: index for index, key in enumerate(fields) if key}
    for row, cells in zip(rows, table.rows, strict=True):
        for key, reason in row.problems:
            column = kind.column(key)
            heading, value = ("" if column is None else str(column.label)), ""
            if key in place:
                heading, value = table.headings[place[key]], shortened(cells[place[key]])
            yield Finding(row.number, heading, value, reason)


def _samples(
    kind: Kind, table: Table, fields: Sequence[str], rows: Sequence[Row], book: Book
) -> Iterator[tuple[int, tuple[Sample, ...]]]:
    for row, cells in zip(rows[:SAMPLE_ROWS], table.rows, strict=False):
        refused: set[str] = {key for key, _reason in row.problems}

        def sample(key: str, cell: Any, row: Row = row, refused: set[str] = refused) -> Sample:
            column = kind.column(key)
            written = shortened(cell, 60)
            if column is None:
                return Sample(written, "")
            return Sample(written, shown(column, row.given, book), key in refused)

        yield row.number, tuple(sample(key, cell) for key, cell in zip(fields, cells, strict=True))
