"""Cells as text, and words compared without regard to accents."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nursery.tabular.headings import plain_heading
from nursery.tabular.writer import TRIGGERS

_SPREADSHEET_ERRORS = {"#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!", "#SPILL!", "#CALC!"}


def is_spreadsheet_error(cell: Any) -> bool:
    """Whether a formula failed in this cell."""
    return isinstance(cell, str) and cell.strip().upper() in _SPREADSHEET_ERRORS


def clean(text: str) -> str:
    """Without spaces around it, and without the apostrophe by which our own exports keep text from calculating."""
    text = text.strip()
    return text[1:] if text.startswith("'") and text[1:].startswith(TRIGGERS) else text


def as_text(cell: Any) -> str:
    """A cell as a person would type it: 101 rather than 101.0, days as ISO dates."""
    if cell is None:
        return ""
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, dt.datetime):
        return cell.date().isoformat() if cell.time() == dt.time() else cell.isoformat(" ")
    return str(cell)


def shortened(cell: Any, most: int = 120) -> str:
    """A cell for a list of findings; a whole pasted letter helps nobody."""
    text = as_text(cell)
    return text if len(text) <= most else text[: most - 1] + "…"


def same_word(one: str, other: str) -> bool:
    """Whether two words differ by case, accents and punctuation only."""
    return one == other or (plain_heading(one) == plain_heading(other) != "")
