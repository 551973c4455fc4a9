"""The pages of a dossier: sections of text, facts, tables and pictures, told by the services."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from nursery.documents.heavy import paged
from nursery.documents.long_tables import add_long_table
from nursery.documents.pages import Head

#: Room that a heading needs with a picture or the beginning of a table below it.
_PICTURE, _TABLE = 140.0, 48.0


@dataclass(frozen=True)
class PrintedTable:
    """A table under its own small heading; ``note`` is read second."""

    title: str
    heads: Sequence[Head]
    rows: Sequence[Sequence[str]]
    note: str = ""


@dataclass(frozen=True)
class PrintedPicture:
    """A PNG, and what it shows in words."""

    content: bytes
    alt: str
    captions: Sequence[str] = ()


@dataclass(frozen=True)
class Section:
    """One part of a dossier; what is empty is not printed."""

    title: str
    texts: Sequence[str] = ()
    facts: Sequence[tuple[str, str]] = ()
    points: Sequence[str] = ()
    picture: PrintedPicture | None = None
    tables: Sequence[PrintedTable] = ()


@dataclass(frozen=True)
class DossierPages:
    """Everything on the pages, in words."""

    title: str
    lead: str
    made: str
    foot: str
    day: dt.date
    language: str
    #: ``#rrggbb``; empty takes the product's own.
    colour: str
    sections: Sequence[Section]


def dossier_pdf(told: DossierPages) -> bytes:
    """The dossier as A4 pages."""
    pages = paged.Pages(
        title=told.title, foot=told.foot, day=told.day, language=told.language, colour=told.colour or "#1d5547"
    )
    pages.heading(told.title)
    pages.paragraph(told.lead)
    pages.paragraph(told.made, soft=True)
    for section in told.sections:
        _print(pages, section)
    return pages.content()


def _print(pages: paged.Pages, section: Section) -> None:
    # A heading does not stay behind where a table or picture goes to the next page.
    if (section.picture and pages.will_page_break(_PICTURE)) or (section.tables and pages.will_page_break(_TABLE)):
        pages.add_page()
    pages.heading(section.title, level=2)
    for text in section.texts:
        pages.paragraph(text)
    if section.facts:
        pages.facts(section.facts)
    if section.points:
        pages.points(section.points)
    if section.picture:
        pages.picture(section.picture.content, alt=section.picture.alt)
        for caption in section.picture.captions:
            pages.paragraph(caption, soft=True)
    for table in section.tables:
        pages.heading(table.title, level=3)
        add_long_table(pages, table.heads, table.rows)
        if table.note:
            pages.paragraph(table.note, soft=True)
