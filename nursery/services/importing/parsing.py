"""One cell: what it says, or why it cannot be understood."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from nursery.catalog.naming import find_species
from nursery.catalog.reading import load_catalog
from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services import codes, understanding
from nursery.services.importing.book import NEAR_LOOKUPS, Book
from nursery.services.importing.columns import Column, Shape
from nursery.services.importing.hints import Hints
from nursery.services.importing.places import parse_coordinate
from nursery.services.importing.references import refer
from nursery.services.importing.seasons import day_of_year, parse_day, parse_season
from nursery.services.importing.text import as_text, clean, is_spreadsheet_error, same_word, shortened
from nursery.services.naming import species_entry

#: Serial numbers of spreadsheet days from 1954 to 2119: a date whose cell lost its date format.
_SERIALS = range(20_000, 80_001)


class Parser:
    """Understands the cells of one column, each distinct cell once."""

    def __init__(self, column: Column, book: Book, epoch: dt.datetime, hints: Hints) -> None:
        self.column = column
        self._book = book
        self._epoch = epoch
        self._hints = hints
        self._unknown = 0
        self._known: dict[tuple[type, Any], tuple[Any, str | None]] = {}

    def __call__(self, cell: Any) -> tuple[Any, str | None]:
        """The value and None, or None and the reason; a blank cell gives None twice."""
        key = (type(cell), cell)
        if key not in self._known:
            try:
                self._known[key] = (self._understand(cell), None)
            except Invalid as invalid:
                self._known[key] = (None, " ".join(invalid.errors.values()))
        return self._known[key]

    def _understand(self, cell: Any) -> Any:
        if is_spreadsheet_error(cell):
            raise self._refused(
                _("The cell holds an error of the spreadsheet. Correct the formula, or type the value.")
            )
        if isinstance(cell, str):
            cell = clean(cell)
        if cell is None or cell == "":
            return None
        value = _READERS[self.column.shape](self, cell)
        if (bounds := self.column.bounds) is not None:
            told = bounds.share_refusal if self.column.shape is Shape.FRACTION else bounds.refusal
            if wrong := told(value):
                raise self._refused(wrong)
        return value

    def _refused(self, message: str) -> Invalid:
        return Invalid({self.column.key: message})

    def text(self, cell: Any) -> str:
        """Text no longer than the field."""
        text = as_text(cell)
        if self.column.max_length and len(text) > self.column.max_length:
            raise self._refused(
                _(
                    "The text has %(length)s characters; at most %(most)s fit. Shorten it.",
                    length=len(text),
                    most=self.column.max_length,
                )
            )
        return text

    def code(self, cell: Any) -> str:
        """A code without spare spaces."""
        return " ".join(self.text(cell).split())

    def lot_code(self, cell: Any) -> str:
        """A lot code whose check character fits."""
        return codes.check_lot_code(self.code(cell))

    def number(self, cell: Any) -> float:
        """A number, with decimal point or comma."""
        if isinstance(cell, (int, float)) and not isinstance(cell, bool):
            return float(cell)
        return understanding.parse_number(self._hints.number(shortened(cell)), self.column.key)

    def whole(self, cell: Any) -> int:
        """A number without decimals."""
        value = self.number(cell)
        if not value.is_integer():
            raise self._refused(_("“%(text)s” is not a whole number.", text=shortened(cell)))
        return int(value)

    def fraction(self, cell: Any) -> float:
        """A fraction 0–1, however written: 0.85, 85 %, 85."""
        typed = shortened(cell)
        bare = typed.removesuffix("%").strip()
        if isinstance(cell, str):
            bare = self._hints.number(bare)
        percent = typed.endswith("%") or self._hints.percent
        return understanding.parse_fraction(bare + ("%" if percent else ""), self.column.key)

    def percent(self, cell: Any) -> float:
        """A percentage: 8, 8 %, or 0.08."""
        return round(self.fraction(cell) * 100, 9)

    def date(self, cell: Any) -> dt.date:
        """A day."""
        if isinstance(cell, dt.datetime):
            return cell.date()
        if isinstance(cell, dt.date):
            return cell
        if isinstance(cell, (int, float)) and int(cell) in _SERIALS:
            return (self._epoch + dt.timedelta(days=int(cell))).date()
        return understanding.parse_date(self._hints.date(shortened(cell)), self.column.key)

    def day(self, cell: Any) -> str:
        """A day of any year."""
        if isinstance(cell, dt.date):
            return day_of_year(cell.month, cell.day, as_text(cell))
        return parse_day(shortened(cell))

    def season(self, cell: Any) -> int:
        """A planting winter."""
        return parse_season(shortened(cell))

    def latitude(self, cell: Any) -> float:
        """Degrees north."""
        return float(cell) if isinstance(cell, (int, float)) else parse_coordinate(shortened(cell), "lat")

    def longitude(self, cell: Any) -> float:
        """Degrees east."""
        return float(cell) if isinstance(cell, (int, float)) else parse_coordinate(shortened(cell), "lon")

    def species(self, cell: Any) -> str:
        """Key of a species of the catalogue."""
        text = shortened(cell)
        entry = find_species(load_catalog(), text)
        if entry is None:
            self._unknown += 1
            if self._unknown > NEAR_LOOKUPS:
                raise self._refused(_("“%(text)s” is no species of the catalogue.", text=text))
            entry = species_entry(text)  # refuses with the near names
        return entry.key

    def reference(self, cell: Any) -> int:
        """Id of another record."""
        column = self.column
        return refer(self._book, column.refers_to, shortened(cell), takes_archived=column.takes_archived).id

    def choice(self, cell: Any) -> str:
        """One of the words of the column."""
        text = shortened(cell)
        for word, others in self.column.words:
            if any(same_word(text, known) for known in (word, *others)):
                return word
        raise self._refused(
            _(
                "“%(text)s” is none of the words expected here. Write one of: %(words)s.",
                text=text,
                words=", ".join(word for word, _others in self.column.words),
            )
        )


_READERS: dict[Shape, Callable[[Parser, Any], Any]] = {
    Shape.TEXT: Parser.text,
    Shape.CODE: Parser.code,
    Shape.LOT_CODE: Parser.lot_code,
    Shape.NUMBER: Parser.number,
    Shape.WHOLE: Parser.whole,
    Shape.FRACTION: Parser.fraction,
    Shape.PERCENT: Parser.percent,
    Shape.DATE: Parser.date,
    Shape.DAY: Parser.day,
    Shape.SEASON: Parser.season,
    Shape.LATITUDE: Parser.latitude,
    Shape.LONGITUDE: Parser.longitude,
    Shape.SPECIES: Parser.species,
    Shape.REFERENCE: Parser.reference,
    Shape.CHOICE: Parser.choice,
}
