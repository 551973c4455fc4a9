"""Recognising headings whatever their case, accents and punctuation, and finding their line."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from typing import Any

#: Lines above the headings (titles, notes) that are looked at.
SEARCHED_ROWS = 30


def plain_heading(text: str) -> str:
    """Lower case, no accents, words apart by one space, no punctuation; ``%`` and ``°`` are kept as words."""
    bare = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return " ".join(re.findall(r"[^\W_]+|[%°]", bare.casefold()))


def heading_forms(text: str) -> tuple[str, ...]:
    """The heading in full, then without units in brackets: ``Area (ha)`` is also ``area``."""
    full = plain_heading(text)
    short = plain_heading(re.sub(r"[(\[].*?[)\]]", " ", text))
    return (full, short) if short and short != full else (full,)


def known_headings(row: Sequence[Any], is_known: Callable[[str], bool]) -> int:
    """How many cells of a row are headings that somebody expects."""
    return sum(isinstance(cell, str) and any(map(is_known, heading_forms(cell))) for cell in row)


def is_comment(row: Sequence[Any]) -> bool:
    """A line of explanation, as our own templates carry: nothing but one cell that begins with ``#``."""
    filled = [cell for cell in row if not is_blank(cell)]
    return len(filled) == 1 and isinstance(filled[0], str) and filled[0].lstrip().startswith("#")


def is_blank(cell: Any) -> bool:
    """Nothing in the cell but perhaps spaces."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


def find_headings(rows: Sequence[Sequence[Any]], is_known: Callable[[str], bool]) -> int | None:
    """Index of the line of headings among the first rows; None when no row has a letter or digit.

    The line with most expected headings, when it has two; else the first line as wide as any of the first rows,
    so that a title above the headings is passed over.
    """
    searched = [
        (index, row)
        for index, row in enumerate(rows[:SEARCHED_ROWS])
        if not is_comment(row) and any(not is_blank(cell) and plain_heading(str(cell)) for cell in row)
    ]
    if not searched:
        return None
    best, count = max(
        ((index, known_headings(row, is_known)) for index, row in searched),
        key=lambda found: (found[1], -found[0]),
    )
    if count >= 2:
        return best
    widths = [(index, sum(not is_blank(cell) for cell in row)) for index, row in searched]
    widest = max(width for _, width in widths)
    return next(index for index, width in widths if width == widest)
