"""CSV and its cousins: commas, semicolons, tabs or bars between the cells."""

from __future__ import annotations

import csv
import io
import itertools
from collections import Counter
from collections.abc import Callable, Iterator

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.tabular.headings import SEARCHED_ROWS, is_blank, known_headings

SEPARATORS = (";", ",", "\t", "|")


def split(text: str, is_known: Callable[[str], bool]) -> tuple[Iterator[list[str]], str]:
    """Rows of cells, lazily, and the separator found."""
    first, _end, rest = text.partition("\n")
    if first.strip().lower().startswith("sep=") and len(first.strip()) == 5:
        # Excel's own way of saying it; the line still counts as a row.
        separator = first.strip()[4]
        return itertools.chain([[]], _rows(rest, separator)), separator
    separator = max(SEPARATORS, key=lambda mark: _score(text, mark, is_known))
    return _rows(text, separator), separator


def _score(text: str, separator: str, is_known: Callable[[str], bool]) -> tuple[int, float, int]:
    """Expected headings found, then how evenly the first rows fall into cells, then how many cells."""
    rows: list[list[str]] = []
    try:
        for row in itertools.islice(_rows(text, separator), 2 * SEARCHED_ROWS):
            if row:
                rows.append(row)  # noqa: PERF401 -- the rows before an error are kept
    except Invalid:
        pass  # an open quotation mark further down: the rows above it tell, and the reader will say where
    if not rows:
        return (0, 0.0, 0)
    widths = Counter(len(row) for row in rows if len(row) > 1)
    width, evenly = widths.most_common(1)[0] if widths else (1, 0)
    return max(known_headings(row, is_known) for row in rows), evenly / len(rows), width


def _rows(text: str, separator: str) -> Iterator[list[str]]:
    # Strict, because a forgotten closing quotation mark would otherwise swallow all rows that follow.
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    count = 0
    try:
        for row in reader:
            count += 1
            yield [] if all(map(is_blank, row)) else row
    except csv.Error as error:
        raise Invalid(
            {
                "file": _(
                    "Row %(row)s cannot be read: a quotation mark is not closed, or stands inside a cell without"
                    " being doubled. Correct it, or save the table as an Excel workbook (.xlsx).",
                    row=count + 1,
                )
            }
        ) from error
