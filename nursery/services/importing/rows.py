"""One row on its way from cells to a record."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, field
from typing import Any

from nursery.services.importing.book import Book


@dataclass(slots=True)
class Row:
    """A row of the file; ``given`` holds what its filled cells say, by field."""

    number: int
    given: dict[str, Any]
    book: Book
    today: dt.date
    problems: list[tuple[str, str]] = field(default_factory=list)
    #: Fields whose cell could not be understood.
    unread: set[str] = field(default_factory=set)
    #: The record of the same identity, by column of the table.
    existing: dict[str, Any] | None = None

    @property
    def merged(self) -> dict[str, Any]:
        """The record as it would be: what exists, overlaid by what the file gives."""
        return {**(self.existing or {}), **self.given}

    def changes(self, key: str) -> bool:
        """Whether the row sets the field to another value than the existing record has."""
        return self.existing is not None and key in self.given and self.given[key] != self.existing.get(key)


def same(value: Any, known: Any) -> bool:
    """Spreadsheets keep 15 digits, so a number that went through one may differ in the last bits."""
    if isinstance(value, float) and isinstance(known, (int, float)):
        return math.isclose(value, known, rel_tol=1e-12)
    return bool(value == known)
