"""From a table to what confirming would write, and every reason why it may not."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from typing import Any

from nursery.i18n import gettext as _
from nursery.services.coordinates import Area
from nursery.services.importing.book import Book
from nursery.services.importing.columns import Shape
from nursery.services.importing.existing import Existing
from nursery.services.importing.hints import Hints, day_comes_first, decimal_mark, is_percent
from nursery.services.importing.kinds import Kind
from nursery.services.importing.lots import ORIGIN
from nursery.services.importing.parsing import Parser
from nursery.services.importing.rows import Row
from nursery.tabular.table import Table

_NUMBERS = (Shape.NUMBER, Shape.WHOLE, Shape.FRACTION, Shape.PERCENT)
#: Fewer points than these show no pattern.
_ENOUGH_POINTS = 5
_DEGREES = (Shape.LATITUDE, Shape.LONGITUDE)


def read_rows(kind: Kind, table: Table, mapping: Sequence[str], book: Book, today: dt.date) -> list[Row]:
    """Every row with its cells understood; cells that are not become problems of the row."""
    rows = [Row(number, {}, book, today) for number in table.numbers]
    for index, key in enumerate(mapping):
        column = kind.column(key)
        if column is None:
            continue
        parse = Parser(column, book, table.epoch, _hints(kind, table, mapping, index))
        for row, cells in zip(rows, table.rows, strict=True):
            value, wrong = parse(cells[index])
            if wrong is not None:
                row.problems.append((key, wrong))
                row.unread.add(key)
            elif value is not None:
                row.given[key] = value
    for row in rows:
        if row.number in table.overlong:
            row.problems.append(("", _overlong()))
        kind.settle(row)
    return rows


def _hints(kind: Kind, table: Table, mapping: Sequence[str], index: int) -> Hints:
    """What the column, and for the decimal mark all columns of numbers, tell about a doubtful cell."""
    shape = kind.column(mapping[index])
    if shape is None or shape.shape not in {*_NUMBERS, Shape.DATE}:
        return Hints()
    own = [cells[index] for cells in table.rows]
    if shape.shape is Shape.DATE:
        return Hints(day_first=day_comes_first(own))
    numbers = [
        place
        for place, key in enumerate(mapping)
        if (column := kind.column(key)) is not None and column.shape in {*_NUMBERS, *_DEGREES}
    ]
    return Hints(
        decimal=decimal_mark(cells[place] for cells in table.rows for place in numbers),
        percent=is_percent(table.headings[index], own),
    )


def _overlong() -> str:
    return _(
        "This row has more cells than there are headings. A comma inside a number or a text may have split a cell:"
        " put it in quotation marks, or save the table as an Excel workbook."
    )


def file_area(rows: Sequence[Row]) -> Area | None:
    """Where the middle half of a file's points lie: shows swapped points when nothing is on record yet."""
    points = [(row.given.get("latitude"), row.given.get("longitude")) for row in rows]
    known = [(north, east) for north, east in points if north is not None and east is not None]
    if len(known) < _ENOUGH_POINTS:
        return None
    latitudes, longitudes = (sorted(axis) for axis in zip(*known, strict=True))
    low, high = len(known) // 4, len(known) - 1 - len(known) // 4
    return latitudes[low], latitudes[high], longitudes[low], longitudes[high]


def recognise(kind: Kind, rows: Sequence[Row], existing: Existing) -> None:
    """Give each row the record it is about; refuse rows about the same record, or about several."""
    first: dict[Any, int] = {}
    weakest = Counter(kind.identities(row.given)[-1:] for row in rows)
    for row in rows:
        identities = kind.identities(row.given)
        if not identities:
            continue
        found = existing.find(identities[0])
        if len(found) > 1:
            row.problems.append(("", _("More than one record fits this row. Give its code.")))
        elif found:
            row.existing = found[0]
            if found[0]["archived_at"] is not None:
                row.problems.append(("", _("This record is archived. Bring it back first, or leave the row out.")))
        mark = row.existing["id"] if row.existing else identities[0]
        if mark in first:
            row.problems.append(
                ("", _("Row %(row)s is about the same record. Keep one of them.", row=first[mark]))
            )
        elif identities[0][0] == ORIGIN and weakest[identities[-1:]] > 1:
            row.problems.append(
                ("", _("Another row has the same species, population, year and day. Give each lot its code."))
            )
        first.setdefault(mark, row.number)


def refuse_rows(kind: Kind, rows: Sequence[Row]) -> None:
    """Missing values, and everything that needs more than one cell."""
    required = [column for column in kind.columns if column.required]
    for row in rows:
        if row.existing is None and "code" not in row.unread:
            row.problems += [
                (column.key, _("%(column)s is missing. A new record needs it.", column=str(column.label)))
                for column in required
                if column.key not in row.given and column.key not in row.unread
            ]
        seen = {key for key, _reason in row.problems}
        row.problems += [(key, reason) for key, reason in kind.refuse(row).items() if key not in seen]
