"""Tables of many rows for `Pages`: as they look there, set many times faster, since each cell is measured once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal

from nursery.documents.heavy import fpdf, paged
from nursery.documents.pages import MARGIN, WIDTH, Head, printable
from nursery.documents.style import BAND, INK, RULE

_SIZE, _LINE, _PAD_X, _PAD_Y = 8.5, 4.2, 1.0, 0.7
#: Room left after a table.
_AFTER = 2.5
_ALIGN: dict[str, Literal["L", "R", "C"]] = {"LEFT": "L", "RIGHT": "R", "CENTER": "C"}


def add_long_table(
    pages: paged.Pages, heads: Sequence[Head], rows: Sequence[Sequence[str]], *, total: Sequence[str] | None = None
) -> None:
    """A table whose heads come again on every page; ``total`` stands out at its end, never alone on a page."""
    setter = _Setter(pages, heads)
    setter.add_heads()
    for at, row in enumerate(rows):
        ahead = total if total is not None and at == len(rows) - 1 else None
        setter.add(row, ahead=ahead)
    if total is not None:
        setter.add(total, bold=True)
    pages.ln(_AFTER)


class _Setter:
    """One table in the making."""

    def __init__(self, pages: paged.Pages, heads: Sequence[Head]) -> None:
        self.pages, self.heads = pages, heads
        whole = sum(head.width for head in heads)
        self.widths = [WIDTH * head.width / whole for head in heads]
        self.letters: dict[tuple[str, bool], float] = {}

    def add_heads(self) -> None:
        self._draw(self._wrapped([head.text for head in self.heads], bold=True), bold=True, ground=True)

    def add(self, cells: Sequence[str], *, bold: bool = False, ahead: Sequence[str] | None = None) -> None:
        """A row; where it, and what must not be parted from it, finds no room, on the next page."""
        lines = self._wrapped(cells, bold=bold)
        needed = _height(lines) + (_height(self._wrapped(ahead, bold=True)) if ahead is not None else 0.0)
        if self.pages.will_page_break(needed):
            self.pages.add_page()
            self.add_heads()
        self._draw(lines, bold=bold)

    def _draw(self, cells: Sequence[Sequence[str]], *, bold: bool, ground: bool = False) -> None:
        pages, top, left = self.pages, self.pages.get_y(), MARGIN
        height = _height(cells)
        if ground:
            pages.set_fill_color(BAND)
            pages.rect(MARGIN, top, WIDTH, height, style="F")
            pages.set_fill_color(0)  # as it was: tables of the library fill their cells with any other
        self._face(bold=bold)
        for lines, width, head in zip(cells, self.widths, self.heads, strict=True):
            for at, line in enumerate(lines):
                self._put(line, left + _PAD_X, top + _PAD_Y + at * _LINE, width - 2 * _PAD_X, head, bold=bold)
            left += width
        pages.set_draw_color(RULE)
        pages.line(MARGIN, top + height, MARGIN + WIDTH, top + height)
        pages.set_xy(MARGIN, top + height)

    def _put(self, line: str, left: float, top: float, room: float, head: Head, *, bold: bool) -> None:
        """A line of a cell; letters that the font lacks need the library's own, slower way."""
        pages, font = self.pages, self.pages.current_font
        if not isinstance(font, fpdf.fonts.TTFFont) or any(ord(letter) not in font.cmap for letter in line):
            pages.set_xy(left, top)
            pages.cell(room, _LINE, line, align=_ALIGN[head.align])
            return
        spare = room - self._width(line, bold=bold) if head.align != "LEFT" else 0.0
        right = left + pages.c_margin if head.align == "LEFT" else left + spare - pages.c_margin
        x = left + spare / 2 if head.align == "CENTER" else right
        # The base line of the library's own cells.
        pages.text(x, top + _LINE / 2 + 0.3 * pages.font_size, line)

    def _face(self, *, bold: bool) -> None:
        self.pages.set_font("sans", "B" if bold else "", _SIZE)
        self.pages.set_text_color(INK)

    def _wrapped(self, cells: Sequence[str], *, bold: bool) -> list[list[str]]:
        self._face(bold=bold)
        return [
            self._lines(_on_one_line(cell), width - 2 * _PAD_X - 0.1, bold=bold)
            for cell, width in zip(cells, self.widths, strict=True)
        ]

    def _lines(self, text: str, room: float, *, bold: bool) -> list[str]:
        """Words in lines that fit; a word that is too long by itself is cut."""
        if self._width(text, bold=bold) <= room:
            return [text]
        lines, line = [], ""
        for word in text.split(" "):
            longer = f"{line} {word}" if line else word
            if self._width(longer, bold=bold) <= room:
                line = longer
                continue
            if line:
                lines.append(line)
            line = word
            while self._width(line, bold=bold) > room and len(line) > 1:
                fits = next(at for at in range(len(line) - 1, 0, -1)
                            if at == 1 or self._width(line[:at], bold=bold) <= room)  # fmt: skip
                lines.append(line[:fits])
                line = line[fits:]
        return [*lines, line]

    def _width(self, text: str, *, bold: bool) -> float:
        """The fonts are set without kerning, so that a text is as wide as its letters."""
        known = self.letters
        for letter in text:
            if (letter, bold) not in known:
                known[letter, bold] = self.pages.get_string_width(letter)
        return sum(known[letter, bold] for letter in text)


def _on_one_line(text: str) -> str:
    """Lines that people typed run on; a space that holds words together stays."""
    return re.sub(r"[ \t\r\n\f\v]+", " ", printable(text)).strip(" ")


def _height(cells: Sequence[Sequence[str]]) -> float:
    return max(len(lines) for lines in cells) * _LINE + 2 * _PAD_Y
