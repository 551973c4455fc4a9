"""A season's report on paper: what was asked for and what became of it, with charts, tables and definitions."""

from __future__ import annotations

import struct
from collections.abc import Callable, Sequence

from nursery.documents.heavy import paged
from nursery.documents.long_tables import add_long_table
from nursery.documents.pages import WIDTH, Head
from nursery.documents.report_parts import Cell, ReportTable, SeasonDocument
from nursery.documents.season_report_charts import chart_png

OWN_COLOUR = "#1d5547"
#: Room that the heading of a section and that of a chart take, in millimetres.
_SECTION_HEAD, _CHART_HEAD = 15.0, 11.0
#: Width of the logo in millimetres.
_LOGO = 48.0


def season_report_pdf(document: SeasonDocument, *, drawn: Callable[[str], None] = lambda _key: None) -> bytes:
    """The report as a PDF; ``drawn`` is told the key of each section as it is begun."""
    words = document.words
    pages = paged.Pages(
        title=document.title,
        foot=" · ".join(part for part in (document.organisation, document.title) if part),
        day=document.day, language=document.language, colour=document.colour or OWN_COLOUR,
    )  # fmt: skip
    if document.logo:
        pages.picture(document.logo, alt=document.organisation, width=_LOGO)
    if document.organisation:
        pages.paragraph(document.organisation, bold=True)
    pages.heading(document.title)
    pages.paragraph(f"{document.span} · {document.made}", soft=True)
    for text in document.opening:
        pages.paragraph(text)
    pages.heading(words.in_short, level=2)
    pages.facts([(fact.label, _with_note(fact.cell.text, fact.note)) for fact in document.facts], label_width=0.4)
    for section in document.sections:
        drawn(section.key)
        pictures = [chart_png(chart) for chart in section.charts]
        if pictures and not section.paragraphs:
            _make_room(pages, pictures[0], _SECTION_HEAD)
        pages.heading(section.title, level=2)
        for text in section.paragraphs:
            pages.paragraph(text)
        for chart, picture in zip(section.charts, pictures, strict=True):
            _make_room(pages, picture, 0.0)
            pages.heading(chart.title, level=3)
            pages.picture(picture, alt=chart.alt or chart.title)
        for table in section.tables:
            _add_table(pages, table)
    for text in document.closing:
        pages.paragraph(text)
    pages.heading(words.notes, level=2)
    add_long_table(
        pages,
        [Head(words.term, 1.1), Head(words.formula, 3.2), Head(words.source, 1.3)],
        [[one.term, one.formula, one.source] for one in document.definitions],
    )
    pages.paragraph(words.agreement, soft=True)
    pages.paragraph(f"{words.digest}: {document.digest}", soft=True)
    return pages.content()


def _make_room(pages: paged.Pages, picture: bytes, above: float) -> None:
    """A picture's headings stand on its own page: where the three find no room here, they begin the next one."""
    width, height = struct.unpack(">II", picture[16:24])  # of a PNG, by its standard
    if pages.will_page_break(above + _CHART_HEAD + WIDTH * height / width):
        pages.add_page()


def _add_table(pages: paged.Pages, table: ReportTable) -> None:
    pages.heading(table.title, level=3)
    if table.lead:
        pages.paragraph(table.lead, soft=True)
    if not table.rows:
        pages.paragraph(table.empty)
        return
    heads = [Head(one.label, one.width, "RIGHT" if one.is_number else "LEFT") for one in table.columns]
    total = _texts(table.total) if table.total is not None else None
    add_long_table(pages, heads, [_texts(row) for row in table.rows], total=total)


def _texts(cells: Sequence[Cell]) -> list[str]:
    return [cell.text for cell in cells]


def _with_note(text: str, note: str) -> str:
    return f"{text} · {note}" if note else text
