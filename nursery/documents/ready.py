"""The stock of a season on paper: totals, a table for each way of grouping, the weeks, and the batches."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from nursery.documents.heavy import paged
from nursery.documents.long_tables import add_long_table
from nursery.documents.pages import Head


@dataclass(frozen=True, slots=True)
class PrintedTable:
    """A table with its title, what is to be known to read it, and its sums."""

    title: str
    heads: Sequence[Head]
    rows: Sequence[Sequence[str]]
    total: Sequence[str] | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class ReadyPaper:
    """Everything that is printed, in words."""

    title: str
    lead: str
    foot: str
    facts: Sequence[tuple[str, str]]
    tables: Sequence[PrintedTable]
    #: How each number is meant.
    notes: Sequence[str]
    notes_title: str


def ready_pdf(paper: ReadyPaper, *, day: dt.date, language: str) -> bytes:
    """Lay it out."""
    pages = paged.Pages(title=paper.title, foot=paper.foot, day=day, language=language)
    pages.heading(paper.title)
    pages.paragraph(paper.lead, soft=True)
    pages.facts(paper.facts)
    for table in paper.tables:
        pages.heading(table.title, level=2)
        if table.note:
            pages.paragraph(table.note, soft=True)
        if table.rows:
            add_long_table(pages, table.heads, table.rows, total=table.total)
    pages.heading(paper.notes_title, level=2)
    pages.points(paper.notes)
    return pages.content()
