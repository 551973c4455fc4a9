"""Labels as a PDF: a code that leads to an address, and beside it what a person reads.

No text ever leaves its label: a line that is too wide gets smaller, then is cut with an ellipsis, and lines that
find no room are left out from the last on.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from nursery.documents.fonts import font_file
from nursery.documents.heavy import fpdf, segno
from nursery.documents.label_layouts import Layout

#: Millimetres in a point.
_POINT = 25.4 / 72
#: Height of a line as a multiple of its type.
_LEADING = 1.16
#: Type is set between these sizes, in points; smaller is hard to read at arm's length (our choice, no source).
_LEAST, _MOST = 4.5, 22.0
#: White modules round a code beside the label's own margin; the standard asks for four in all (from memory).
_QUIET = 2
_WEIGHTS = {"": 400, "B": 650}


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a label; ``weight`` is its size beside the others."""

    text: str
    face: Literal["regular", "bold", "italic"] = "regular"
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label: the address in the code, and lines in the order of their importance."""

    address: str
    lines: tuple[Line, ...]


def labels_pdf(labels: Sequence[Label], layout: Layout, *, day: dt.date, title: str, start: int = 0) -> bytes:
    """The pages; ``start`` labels of the first are left free, for a sheet that was used in part.

    Raises
    ------
    ValueError
        For a start beyond the sheet.
    """
    if not 0 <= start < layout.each:
        raise ValueError("the sheet has no such label")
    pdf = _document(labels, layout, day, title)
    for number, label in enumerate(labels):
        page, position = divmod(number + start, layout.each)
        if number == 0 or (position == 0 and page > 0):
            pdf.add_page()
        _draw(pdf, label, layout.corner(position), layout)
    return bytes(pdf.output())


def _document(labels: Sequence[Label], layout: Layout, day: dt.date, title: str) -> fpdf.FPDF:
    pdf = fpdf.FPDF(unit="mm", format=(layout.page_width, layout.page_height))
    pdf.set_auto_page_break(auto=False)
    pdf.set_margin(0)
    pdf.c_margin = 0
    pdf.set_title(title)
    pdf.set_creation_date(dt.datetime.combine(day, dt.time(), dt.UTC))
    _add_weights(pdf, "sans", "source-sans-3-latin-wght-normal")
    pdf.add_font("serif", "I", str(font_file("alegreya-latin-wght-italic", 400)))
    latin = pdf.fonts["sans"]
    signs = {ord(sign) for label in labels for line in label.lines for sign in line.text}
    if isinstance(latin, fpdf.fonts.TTFFont) and not signs <= latin.cmap.keys():
        _add_weights(pdf, "further", "source-sans-3-latin-ext-wght-normal")
        pdf.set_fallback_fonts(["further"], exact_match=False)
    return pdf


def _add_weights(pdf: fpdf.FPDF, family: str, name: str) -> None:
    for style, weight in _WEIGHTS.items():
        pdf.add_font(family, style, str(font_file(name, weight)))


def _draw(pdf: fpdf.FPDF, label: Label, corner: tuple[float, float], layout: Layout) -> None:
    """The code on the left and the text beside it; on a label that is taller than wide, the text below it."""
    pad = max(min(layout.width, layout.height) * 0.07, 1.5)
    x, y = corner[0] + max(pad, layout.inset[0]), corner[1] + max(pad, layout.inset[1])
    width, height = layout.width - 2 * max(pad, layout.inset[0]), layout.height - 2 * max(pad, layout.inset[1])
    if height >= width:
        code = min(width, height * 0.5)
        _draw_code(pdf, label.address, x + (width - code) / 2, y, code)
        _draw_lines(pdf, label.lines, x, y + code + pad, width, height - code - pad)
    else:
        code = min(height, width * 0.43)
        _draw_code(pdf, label.address, x, y + (height - code) / 2, code)
        _draw_lines(pdf, label.lines, x + code + pad, y, width - code - pad, height)


def _draw_code(pdf: fpdf.FPDF, address: str, x: float, y: float, size: float) -> None:
    matrix = [list(row) for row in segno.make_qr(address, error="m").matrix]
    module = size / (len(matrix) + 2 * _QUIET)
    pdf.set_fill_color(0)
    for down, row in enumerate(matrix):
        begin = None
        for along, dark in enumerate([*row, 0]):
            if dark and begin is None:
                begin = along
            elif not dark and begin is not None:
                pdf.rect(
                    x + (begin + _QUIET) * module, y + (down + _QUIET) * module, (along - begin) * module,
                    module * 1.02, "F",  # a hair over, so that no printer leaves white between rows
                )  # fmt: skip
                begin = None


def _draw_lines(pdf: fpdf.FPDF, lines: Sequence[Line], x: float, y: float, width: float, height: float) -> None:
    """The block of text, in the middle of its height."""
    shown, size = _fitting(lines, height)
    cut = [(line, *_cut(pdf, line, min(size * line.weight, _MOST), width)) for line in shown]
    tall = _POINT * _LEADING
    top = y + (height - sum(points for _line, _text, points in cut) * tall) / 2
    for line, text, points in cut:
        _face(pdf, line, points)
        pdf.set_xy(x, top)
        pdf.cell(w=width, h=points * tall, text=text)
        top += points * tall


def _fitting(lines: Sequence[Line], height: float) -> tuple[Sequence[Line], float]:
    """As many lines as find room, and the size at which they fill it."""
    for many in range(len(lines), 0, -1):
        size = height / (_POINT * _LEADING * sum(line.weight for line in lines[:many]))
        if size >= _LEAST + 1 or many == 1:
            return lines[:many], min(size, 12.0)
    return lines, _LEAST


def _cut(pdf: fpdf.FPDF, line: Line, points: float, width: float) -> tuple[str, float]:
    """The text at a size at which it is no wider than its room; cut where even small type is too wide."""
    _face(pdf, line, points)
    wide = pdf.get_string_width(line.text)
    if wide <= width:
        return line.text, points
    points = max(points * width / wide * 0.995, _LEAST)
    _face(pdf, line, points)
    text = line.text
    while len(text) > 1 and pdf.get_string_width(text) > width:
        text = text.rstrip("…")[:-1].rstrip() + "…"
    return text, points


def _face(pdf: fpdf.FPDF, line: Line, points: float) -> None:
    family, style = {"regular": ("sans", ""), "bold": ("sans", "B"), "italic": ("serif", "I")}[line.face]
    pdf.set_font(family, style, points)
