"""Small pages with the product's fonts, for labels and passports; lengths in millimetres, type in points."""

from __future__ import annotations

import datetime as dt
from typing import Any, Literal

import segno
from fpdf import FPDF

from nursery.documents.fonts import font_file
from nursery.documents.pages import printable
from nursery.documents.papers.printed import Printed

_FACES = {"sans": "source-sans-3-latin-wght-normal", "further": "source-sans-3-latin-ext-wght-normal"}
_WEIGHTS = {"": 400, "B": 650}
#: White modules round a code.
_QUIET = 2


class Canvas(FPDF):
    """Pages of one size, one label each."""

    def __init__(self, printed: Printed, width: float, height: float) -> None:
        super().__init__(unit="mm", format=(width, height))
        self.set_auto_page_break(auto=False)
        self.set_margin(0)
        self.c_margin = 0
        self.set_title(printable(f"{printed.title} {printed.number}"))
        self.set_lang(printed.language)
        self.set_creation_date(dt.datetime.combine(printed.day, dt.time(), dt.UTC))
        for family, name in _FACES.items():
            for style, weight in _WEIGHTS.items():
                self.add_font(family, style, str(font_file(name, weight)))
        self.set_fallback_fonts(["further"], exact_match=False)

    def write_in(
        self, text: str, x: float, y: float, width: float, *, points: float, bold: bool = False,
        align: Literal["L", "C", "R"] = "L", colour: str = "#000000",
    ) -> float:  # fmt: skip
        """Text within a width, from a corner down; gives the height it took."""
        self._face(points, bold, colour)
        self.set_xy(x, y)
        self.multi_cell(width, _leading(points), printable(text), align=align, new_x="LEFT", new_y="NEXT")
        return self.get_y() - y

    def height_of(self, text: str, width: float, *, points: float, bold: bool = False) -> float:
        """The height that a text would take."""
        self._face(points, bold, "#000000")
        lines: Any = self.multi_cell(width, _leading(points), printable(text), dry_run=True, output="LINES")
        return len(lines) * _leading(points)

    def one_line(self, text: str, x: float, y: float, width: float, *, points: float, bold: bool = False) -> None:
        """A line that gets smaller until it fits."""
        while points > 4 and self._width(text, points, bold) > width:
            points -= 0.25
        self._face(points, bold, "#000000")
        self.set_xy(x, y)
        self.cell(width, _leading(points), printable(text))

    def code(self, text: str, x: float, y: float, size: float) -> None:
        """The text as a QR code that any telephone reads."""
        matrix = [list(row) for row in segno.make_qr(text, error="m").matrix]
        module = size / (len(matrix) + 2 * _QUIET)
        self.set_fill_color(255)
        self.rect(x, y, size, size, "F")
        self.set_fill_color(0)
        for down, row in enumerate(matrix):
            for along, dark in enumerate(row):
                if dark:
                    left, top = x + (along + _QUIET) * module, y + (down + _QUIET) * module
                    self.rect(left, top, module * 1.02, module * 1.02, "F")

    def content(self) -> bytes:
        """The finished pages."""
        return bytes(self.output())

    def _width(self, text: str, points: float, bold: bool) -> float:
        self._face(points, bold, "#000000")
        return float(self.get_string_width(printable(text)))

    def _face(self, points: float, bold: bool, colour: str) -> None:
        self.set_font("sans", "B" if bold else "", points)
        self.set_text_color(colour)


def _leading(points: float) -> float:
    return points * 25.4 / 72 * 1.16
