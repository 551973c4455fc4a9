"""What a file turns into: headings, rows and where each row stood."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

#: More than a nursery writes by hand; a bound keeps a hostile file from filling the memory.
MAX_ROWS = 100_000
MAX_COLUMNS = 200

#: Day 0 of the serial numbers by which spreadsheets store dates (the 1900 system; 1904 is the other one).
EPOCH_1900 = dt.datetime(1899, 12, 30)  # noqa: DTZ001 -- spreadsheet dates have no zone


@dataclass(frozen=True, slots=True)
class Layout:
    """How the file was written, for a person to check."""

    #: ``csv`` or ``xlsx``.
    form: str
    #: Character encoding of a text file, else empty.
    encoding: str = ""
    #: Character between the cells of a text file, else empty.
    separator: str = ""
    #: Name of the sheet read, else empty.
    sheet: str = ""
    #: Row of the headings, counted from 1 as a spreadsheet does.
    header_row: int = 1


@dataclass(frozen=True, slots=True)
class Table:
    """Headings and rows without the blank ones; every row is as wide as the headings."""

    layout: Layout
    headings: tuple[str, ...]
    #: Cells as read: text, or what the spreadsheet stored (number, date, truth value, None).
    rows: list[list[Any]]
    #: Row number of each row as a spreadsheet shows it.
    numbers: list[int]
    #: Row numbers of rows with filled cells beyond the last heading.
    overlong: frozenset[int] = frozenset()
    epoch: dt.datetime = EPOCH_1900
