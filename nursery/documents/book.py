"""Tables of the movement book and of the yearly declaration as pages, for whoever inspects."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from nursery.documents.heavy import paged
from nursery.documents.pages import Head
from nursery.i18n import gettext as _


@dataclass(frozen=True, slots=True)
class BookTable:
    """A table with what stands above and below it."""

    title: str
    lead: str
    heads: Sequence[Head]
    rows: Sequence[Sequence[str]]
    total: Sequence[str] | None
    notes: Sequence[str]
    supplier: str


def book_pdf(table: BookTable, *, day: dt.date, language: str) -> bytes:
    """The pages; every foot says that it is a draft."""
    foot = _("Draft, to be checked by the person who signs")
    pages = paged.Pages(title=table.title, foot=foot, day=day, language=language)
    pages.heading(table.title)
    if table.supplier:
        pages.paragraph(table.supplier, bold=True)
    pages.paragraph(table.lead)
    pages.table_of(table.heads, table.rows, total=table.total)
    for note in table.notes:
        pages.paragraph(note, soft=True)
    pages.facts([(_("Checked by"), ""), (_("Day"), ""), (_("Signature"), "")])
    return pages.content()
