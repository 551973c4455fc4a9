"""What printed pages share: their measures, the heads of tables, and signs that the fonts have."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Align = Literal["LEFT", "RIGHT", "CENTER"]

MARGIN = 18.0
WIDTH = 210.0 - 2 * MARGIN
#: Signs that the fonts lack, and what is printed instead.
_PLAIN = str.maketrans(
    {"→": ">", "≥": ">=", "≤": "<=", "✓": "x", "−": "–", "\u202f": "\u00a0", "\u2009": "\u00a0", "±": "+/-"}
)


@dataclass(frozen=True, slots=True)
class Head:
    """A column of a table: its heading, its share of the width, and how its cells stand."""

    text: str
    width: float = 1.0
    align: Align = "LEFT"


def printable(text: str) -> str:
    """The text in signs that the fonts have."""
    return text.translate(_PLAIN)
