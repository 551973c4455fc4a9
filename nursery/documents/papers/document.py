"""A supplier's document or a delivery note on A4 pages."""

from __future__ import annotations

from nursery.documents.heavy import paged
from nursery.documents.pages import MARGIN, WIDTH, Head, printable
from nursery.documents.papers.printed import Printed
from nursery.i18n import gettext as _

_BAND = 9.0


def document_pdf(printed: Printed) -> bytes:
    """The document in the language now in force; ``state`` stands below its title and at the foot of each page."""
    foot = f"{printed.number} · {printed.state}"
    pages = paged.Pages(
        title=f"{printed.title} {printed.number}", foot=foot, day=printed.day, language=printed.language
    )
    pages.heading(f"{printed.title} {printed.number}")
    pages.paragraph(printed.state, bold=True)
    if printed.colour:
        _band(pages, printed.colour, printed.category)
    for section in printed.sections:
        pages.heading(section.title, level=2)
        pages.facts(section.rows)
    if printed.lines:
        pages.heading(_("What travels"), level=2)
        heads = [
            Head(_("Species"), 2.4), Head(_("Batch or lot"), 1.6), Head(_("Stands in"), 2.6),
            Head(_("Quantity"), 1.2, "RIGHT"),
        ]  # fmt: skip
        pages.table_of(heads, printed.lines)
    _signature(pages, printed)
    if printed.rules or printed.notices:
        pages.heading(_("The rules it follows"), level=3)
        for text in filter(None, [printed.rules, *printed.notices]):
            pages.paragraph(text, soft=True)
    return pages.content()


def _signature(pages: paged.Pages, printed: Printed) -> None:
    pages.heading(_("Checked and signed"), level=2)
    pages.facts([(_("Name"), printed.signed_by), (_("Day"), printed.signed_on), (_("Signature"), "")])
    if printed.lines:
        pages.facts([(_("Taken over by"), ""), (_("Day and time"), ""), (_("Signature"), "")])


def _band(pages: paged.Pages, colour: str, text: str) -> None:
    """The category in words on its colour."""
    y = pages.get_y() + 1
    with pages.local_context(fill_color=colour):
        pages.rect(MARGIN, y, WIDTH, _BAND, "F")
    pages.set_xy(MARGIN + 3, y + 2)
    pages.set_font("sans", "B", 11)
    pages.set_text_color("#000000")
    pages.cell(WIDTH - 6, _BAND - 4, printable(_("Category: %(category)s", category=text)))
    pages.set_xy(MARGIN, y + _BAND + 1)
