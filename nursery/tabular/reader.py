"""CSV and XLSX files of any make, read into headings and rows."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.tabular import delimited, workbooks
from nursery.tabular.decoding import decode
from nursery.tabular.headings import SEARCHED_ROWS, find_headings, is_blank, is_comment
from nursery.tabular.table import EPOCH_1900, MAX_COLUMNS, MAX_ROWS, Layout, Table

_ZIP = b"PK\x03\x04"
#: First bytes of the workbooks that Excel wrote before 2007.
_OLD_EXCEL = b"\xd0\xcf\x11\xe0"


def read_table(content: bytes, is_known: Callable[[str], bool], *, limit: int = MAX_ROWS) -> Table:
    """Read a whole file, or its first ``limit`` rows.

    ``is_known`` tells whether a plain heading is expected: it decides doubts about the separator and the line of
    headings. Blank rows, comment rows (``#``) and empty trailing columns are left out; row numbers are kept.
    Raises ``Invalid`` with the field ``file`` for what is no table.
    """
    rows, layout, epoch = _open(content, is_known)
    start = list(itertools.islice(rows, SEARCHED_ROWS))
    header = find_headings(start, is_known)
    if header is None:
        raise Invalid({"file": _("The file is empty: it has no headings and no rows.")})
    headings = _headings(start[header])
    counted = enumerate(itertools.chain(start[header + 1 :], rows), start=header + 2)
    table = _gather(counted, headings, limit)
    return replace(table, layout=replace(layout, header_row=header + 1), epoch=epoch)


def _open(content: bytes, is_known: Callable[[str], bool]) -> tuple[Iterator[Sequence[Any]], Layout, Any]:
    if not content:
        raise Invalid({"file": _("The file is empty: it has no headings and no rows.")})
    if content.startswith(_OLD_EXCEL):
        raise Invalid(
            {"file": _("This is an old workbook (.xls), or one locked by a password. Save it as .xlsx or CSV.")}
        )
    if content.startswith(_ZIP):
        sheet_rows, sheet, epoch = workbooks.open_workbook(content)
        return sheet_rows, Layout(form="xlsx", sheet=sheet), epoch
    text, encoding = decode(content)
    rows, separator = delimited.split(text, is_known)
    return rows, Layout(form="csv", encoding=encoding, separator=separator), EPOCH_1900


def _headings(row: Sequence[Any]) -> tuple[str, ...]:
    cells = ["" if is_blank(cell) else " ".join(str(cell).split()) for cell in row]
    while cells and not cells[-1]:
        cells.pop()
    if len(cells) > MAX_COLUMNS:
        raise Invalid(
            {
                "file": _(
                    "The file has more than %(count)s columns. Leave out what is not needed.", count=MAX_COLUMNS
                )
            }
        )
    return tuple(cells)


def _gather(counted: Iterable[tuple[int, Sequence[Any]]], headings: tuple[str, ...], limit: int) -> Table:
    width = len(headings)
    rows: list[list[Any]] = []
    numbers: list[int] = []
    overlong: list[int] = []
    for number, row in counted:
        if all(map(is_blank, row)) or is_comment(row):
            continue
        if len(rows) == limit:
            if limit < MAX_ROWS:
                break
            raise Invalid(
                {
                    "file": _(
                        "The file has more than %(count)s rows. Split it into smaller files.",
                        count=format_number(MAX_ROWS),
                    )
                }
            )
        cells = list(row[:width])
        cells.extend([None] * (width - len(cells)))
        if len(row) > width and not all(map(is_blank, row[width:])):
            overlong.append(number)
        rows.append(cells)
        numbers.append(number)
    return Table(Layout(form=""), headings, rows, numbers, frozenset(overlong))
