"""What the other cells of a file say about a cell that could mean two things.

A form sees one value and asks; a file shows how its author writes numbers and dates, so most doubts are settled.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from nursery.tabular.headings import plain_heading

#: A number whose mark can only be decimal: not three digits behind it, or a zero before it.
_DECIMAL = re.compile(r"[+-]?(?:\d+([.,])(?:\d{1,2}|\d{4,})|[+-]?0([.,])\d+) ?%?")
_ONE_GROUP = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")
_DATE = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})")

Mark = Literal["", ".", ","]


@dataclass(frozen=True, slots=True)
class Hints:
    """How the author of a column writes."""

    #: Decimal mark of the file's numbers; empty when the file does not tell.
    decimal: Mark = ""
    #: Whether days come before months in the column's dates; None when the column does not tell: then they do.
    day_first: bool | None = None
    #: Whether bare numbers of the column are percentages, down to the smallest.
    percent: bool = False

    def number(self, text: str) -> str:
        """The number without doubt: one written 1,234 gets the reading that fits the rest of the file."""
        typed = text.strip()
        if self.decimal and _ONE_GROUP.fullmatch(typed):
            return typed + "0" if self.decimal in typed else re.sub("[.,]", "", typed)
        return typed

    def date(self, text: str) -> str:
        """The date without doubt: as ISO when the column tells the order of day and month."""
        found = _DATE.fullmatch(text.strip())
        if found is None or self.day_first is None:
            return text
        day, month = (found[1], found[2]) if self.day_first else (found[2], found[1])
        return f"{found[3]}-{int(month):02d}-{int(day):02d}"


def decimal_mark(cells: Iterable[Any]) -> Mark:
    """The one decimal mark of all numbers that can be read in one way only; empty when there are both or none."""
    marks = {
        found[1] or found[2]
        for cell in cells
        if isinstance(cell, str) and (found := _DECIMAL.fullmatch(cell.strip()))
    }
    if marks == {","}:
        return ","
    return "." if marks == {"."} else ""


def day_comes_first(cells: Iterable[Any]) -> bool | None:
    """Order of day and month, by the dates of the column with a number above 12; None when they do not tell."""
    orders = set()
    for cell in cells:
        found = _DATE.fullmatch(cell.strip()) if isinstance(cell, str) else None
        if found and (int(found[1]) > 12) != (int(found[2]) > 12):
            orders.add(int(found[1]) > 12)
    return orders.pop() if len(orders) == 1 else None


def is_percent(heading: str, cells: Iterable[Any]) -> bool:
    """Whether the heading says percent and some bare number is above 1, so that a bare 1 is one percent."""
    return "%" in plain_heading(heading).split() and any(_above_one(cell) for cell in cells)


def _above_one(cell: Any) -> bool:
    if isinstance(cell, str):
        try:
            return float(cell.strip().replace(",", ".")) > 1
        except ValueError:
            return False
    return isinstance(cell, (int, float)) and cell > 1
