"""A report as all its renderings read it: words in the reader's language, numbers beside how they are written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

#: What a workbook keeps in a cell.
Native = str | int | float | dt.date | None
#: What a bar stands for; each has a ground and a hatching of its own.
Ink = Literal["wanted", "done", "other", "unknown"]


@dataclass(frozen=True, slots=True)
class Cell:
    """A value as a workbook keeps it, and as page and paper write it."""

    value: Native
    text: str


@dataclass(frozen=True, slots=True)
class Column:
    """A column with its heading; ``digits`` are the decimals of its numbers."""

    key: str
    label: str
    kind: str
    digits: int
    width: float

    @property
    def is_number(self) -> bool:
        """Whether its cells are set flush right."""
        return self.kind in {"number", "percent", "money"}


@dataclass(frozen=True, slots=True)
class ReportTable:
    """A table; ``total`` is its row of sums."""

    key: str
    title: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[Cell]]
    total: Sequence[Cell] | None = None
    #: A sentence below the heading; what is told where there are no rows.
    lead: str = ""
    empty: str = ""


@dataclass(frozen=True, slots=True)
class Fact:
    """One number at the head of the report."""

    key: str
    label: str
    cell: Cell
    kind: str
    digits: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class BarRow:
    """A bar of one or more parts, with its number written beside it; ``mark`` is what it should have reached."""

    label: str
    parts: Sequence[tuple[float, Ink]]
    text: str
    mark: float | None = None
    is_taxon: bool = False


@dataclass(frozen=True, slots=True)
class RangeRow:
    """A share with the interval in which it lies."""

    label: str
    low: float
    value: float
    high: float
    text: str
    is_taxon: bool = False


@dataclass(frozen=True, slots=True)
class Chart:
    """A picture: its title says what is seen in it."""

    key: str
    title: str
    rows: Sequence[BarRow] | Sequence[RangeRow]
    #: What each ground means; a single one needs none.
    legend: Sequence[tuple[Ink, str]] = ()
    mark: str = ""
    #: Numbers of the picture in a sentence for those who do not see it.
    alt: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the report: charts first, the tables with the same numbers below."""

    key: str
    title: str
    paragraphs: Sequence[str]
    charts: Sequence[Chart]
    tables: Sequence[ReportTable]


@dataclass(frozen=True, slots=True)
class Definition:
    """What a number means."""

    term: str
    formula: str
    source: str


@dataclass(frozen=True)
class SeasonDocument:
    """The whole report in one language."""

    title: str
    organisation: str
    span: str
    made: str
    language: str
    day: dt.date
    colour: str
    #: PNG; empty for none.
    logo: bytes
    opening: Sequence[str]
    closing: Sequence[str]
    facts: Sequence[Fact]
    sections: Sequence[Section]
    definitions: Sequence[Definition]
    digest: str
    words: DocumentWords

    @property
    def tables(self) -> list[ReportTable]:
        """All tables in the order of the report."""
        return [table for section in self.sections for table in section.tables]

    @property
    def charts(self) -> dict[str, Chart]:
        """All charts by key."""
        return {chart.key: chart for section in self.sections for chart in section.charts}


@dataclass(frozen=True, slots=True)
class DocumentWords:
    """Headings and sentences of the frame."""

    in_short: str
    notes: str
    term: str
    formula: str
    source: str
    contents: str
    number: str
    value: str
    digest: str
    agreement: str
