"""What a column of an import file is: declared once, used for matching, reading, checking and the templates."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from babel.support import LazyProxy

from nursery.i18n import LOCALES, locale_of
from nursery.services.limits import Bounds
from nursery.tabular.headings import heading_forms, plain_heading


class Shape(StrEnum):
    """How the cells of a column are to be understood."""

    TEXT = "text"
    CODE = "code"
    LOT_CODE = "lot code"
    NUMBER = "number"
    WHOLE = "whole"
    FRACTION = "fraction"
    #: A percentage kept as such: moisture content.
    PERCENT = "percent"
    DATE = "date"
    #: A day of any year, kept as MM-DD.
    DAY = "day"
    SEASON = "season"
    LATITUDE = "latitude"
    LONGITUDE = "longitude"
    SPECIES = "species"
    #: The code or name of another record; ``Column.refers_to`` says which.
    REFERENCE = "reference"
    CHOICE = "choice"


@dataclass(frozen=True, slots=True)
class Column:
    """One column: ``key`` is the field it fills, ``heading`` the English heading of the templates."""

    key: str
    heading: str
    label: LazyProxy
    shape: Shape
    help: LazyProxy
    example: str = ""
    #: Other headings people use, in English, Portuguese and Spanish.
    also: tuple[str, ...] = ()
    #: A new record needs it; an existing one keeps what it has.
    required: bool = False
    bounds: Bounds | None = None
    max_length: int = 0
    refers_to: str = ""
    #: Whether an archived record may be meant too.
    takes_archived: bool = False
    #: For a choice: each word to be kept, with the other words people write for it.
    words: tuple[tuple[str, tuple[str, ...]], ...] = ()

    def forms(self) -> frozenset[str]:
        """Every plain heading that means this column, its label in every language of the product included."""
        names = (self.key.replace("_", " "), self.heading, *self.labels(), *self.also)
        return frozenset(form for name in names for form in (*heading_forms(name), plain_heading(name)) if form)

    def labels(self) -> tuple[str, ...]:
        """The label in every language: a template made in one may be read in another."""
        found = []
        for locale in LOCALES:
            with locale_of(locale):
                found.append(str(self.label))
        return tuple(found)


Columns = tuple[Column, ...]
