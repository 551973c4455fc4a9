"""A4 pages in the product's own type: headings, paragraphs, facts, tables that repeat their heads, pictures.

Every printed document but labels is made of these pieces, so that all look alike. Lengths are in millimetres,
type in points. Signs that the fonts lack are printed in their nearest plain spelling.
"""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Sequence
from typing import Literal

from fpdf import FPDF
from fpdf.enums import TableBordersLayout, TableCellFillMode
from fpdf.fonts import FontFace

from nursery.documents.fonts import font_file
from nursery.documents.pages import MARGIN, WIDTH, Head, printable
from nursery.documents.style import BAND, INK, RULE, SOFT

_BODY, _SMALL = 9.5, 8.0
#: Type, room before and room after a heading of each level.
_HEADINGS = {1: (20.0, 0.0, 3.0), 2: (13.5, 6.0, 2.0), 3: (10.5, 3.5, 1.0)}
_FACES = {
    "sans": "source-sans-3-latin-wght-normal",
    "further": "source-sans-3-latin-ext-wght-normal",
    "serif": "alegreya-latin-wght-normal",
}
_WEIGHTS = {"": 400, "B": 650}


class Pages(FPDF):
    """Pages with a foot that says what the document is and which page this is.

    Parameters
    ----------
    title
        Title of the document, in its properties.
    foot
        What stands at the left of every foot, such as "Draft, to be checked by the person who signs".
    day
        Day of the document.
    language
        ISO 639 code of the text.
    colour
        ``#rrggbb`` of the headings.
    """

    def __init__(self, *, title: str, foot: str, day: dt.date, language: str, colour: str = "#1d5547") -> None:
        super().__init__(unit="mm", format="A4")
        self.colour, self.foot_text, self.deepest = colour, foot, -1
        self.set_title(title)
        self.set_lang(language)
        self.set_creation_date(dt.datetime.combine(day, dt.time(), dt.UTC))
        self.set_margins(MARGIN, MARGIN, MARGIN)
        self.set_auto_page_break(auto=True, margin=20)
        for family, name in _FACES.items():
            for style, weight in _WEIGHTS.items():
                self.add_font(family, style, str(font_file(name, weight)))
        self.set_fallback_fonts(["further"], exact_match=False)
        self.alias_nb_pages("{pages}")
        self.add_page()
        self._text()

    def footer(self) -> None:
        """The foot: what this is, and which page."""
        self.set_y(-14)
        self._face("sans", "", _SMALL, SOFT)
        self.cell(WIDTH * 0.85, 4, printable(self.foot_text))
        self.cell(WIDTH * 0.15, 4, f"{self.page_no()} / {{pages}}", align="R")

    def heading(self, text: str, *, level: int = 1) -> None:
        """A heading of level 1 to 3; it never stands alone at the end of a page, and is in the outline."""
        size, before, after = _HEADINGS[level]
        if self.will_page_break(before + size * 0.43 + 22):
            self.add_page()
        elif self.get_y() > MARGIN + 1:
            self.ln(before)
        self.deepest = min(level - 1, self.deepest + 1)
        self.start_section(printable(text), level=self.deepest)
        if level < max(_HEADINGS):
            self._face("serif", "B", size, self.colour)
        else:
            self._face("sans", "B", size, INK)
        self.multi_cell(WIDTH, size * 0.43, printable(text), align="L", new_x="LMARGIN", new_y="NEXT")
        self.ln(after)
        self._text()

    def paragraph(self, text: str, *, soft: bool = False, bold: bool = False) -> None:
        """Text over the whole width; ``soft`` is for what is read second."""
        self._face("sans", "B" if bold else "", _SMALL + 0.5 if soft else _BODY, SOFT if soft else INK)
        self.multi_cell(WIDTH, 4.0 if soft else 4.6, printable(text), align="L", new_x="LMARGIN", new_y="NEXT")
        self.ln(1.6)
        self._text()

    def points(self, texts: Sequence[str]) -> None:
        """A list with dashes."""
        for text in texts:
            self.set_x(MARGIN)
            self.cell(4, 4.6, "–")
            self.multi_cell(WIDTH - 4, 4.6, printable(text), align="L", new_x="LMARGIN", new_y="NEXT")
        self.ln(1.6)

    def facts(self, rows: Sequence[tuple[str, str]], *, label_width: float = 0.36) -> None:
        """Label and value, line by line; an empty value is a rule to be filled in by hand."""
        cells = [[label, value or "_" * 24] for label, value in rows]
        self._table((), cells, widths=(label_width, 1 - label_width), labelled=True)

    def table_of(
        self, heads: Sequence[Head], rows: Sequence[Sequence[str]], *, total: Sequence[str] | None = None
    ) -> None:
        """A table; its heads come again on every page, ``total`` stands out at its end."""
        self._table(heads, rows, widths=[head.width for head in heads], total=total)

    def picture(self, content: bytes, *, alt: str, width: float = WIDTH) -> None:
        """A PNG in the width given, on the next page where it finds no room here."""
        self.image(io.BytesIO(content), x=MARGIN, w=width, alt_text=printable(alt), keep_aspect_ratio=True)
        self.ln(2.5)

    def content(self) -> bytes:
        """The finished document."""
        return bytes(self.output())

    def _table(
        self, heads: Sequence[Head], rows: Sequence[Sequence[str]], *, widths: Sequence[float],
        total: Sequence[str] | None = None, labelled: bool = False,
    ) -> None:  # fmt: skip
        aligns = [head.align for head in heads] or ["LEFT"] * len(widths)
        bold, soft = FontFace(emphasis="BOLD", color=INK), FontFace(color=SOFT)
        self.set_draw_color(RULE)
        self._face("sans", "", _SMALL + 0.5, INK)
        with self.table(
            width=WIDTH, col_widths=tuple(widths), text_align=tuple(aligns), line_height=4.2, padding=(0.7, 1),
            borders_layout=TableBordersLayout.HORIZONTAL_LINES, first_row_as_headings=bool(heads),
            headings_style=FontFace(emphasis="BOLD", color=INK, fill_color=BAND),
            cell_fill_mode=TableCellFillMode.NONE,
        ) as table:  # fmt: skip
            if heads:
                table.row([printable(head.text) for head in heads])
            for cells in rows:
                row = table.row()
                for number, cell in enumerate(cells):
                    row.cell(printable(cell), style=soft if labelled and number == 0 else None)
            if total is not None:
                row = table.row()
                for cell in total:
                    row.cell(printable(cell), style=bold)
        self.ln(2.5)
        self._text()

    def _text(self) -> None:
        self._face("sans", "", _BODY, INK)

    def _face(self, family: str, style: Literal["", "B"], points: float, colour: str) -> None:
        self.set_font(family, style, points)
        self.set_text_color(colour)
