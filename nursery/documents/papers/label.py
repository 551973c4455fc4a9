"""The label of forest reproductive material: 120 × 75 mm, numbered, in the colour of its category.

RD 289/2003 Annex IX gives the size; the stored text prints “120 · 7.5 mm”, evidently a misprint.
"""

from __future__ import annotations

from collections.abc import Sequence

from nursery.documents.heavy import drawing
from nursery.documents.papers.printed import Printed
from nursery.i18n import gettext as _

WIDTH, HEIGHT = 120.0, 75.0
_PAD, _BAND, _FOOT, _CODE = 3.0, 11.0, 5.0, 15.0
_SIZES = (7.5, 7.0, 6.5, 6.0, 5.5, 5.0, 4.5)
_GAP = 0.5
#: Left edge, upper edge, width, size of type, label and value of each particular.
_Placed = list[tuple[float, float, float, float, str, str]]


def label_pdf(printed: Printed) -> bytes:
    """As many labels as the paper counts, numbered."""
    canvas = drawing.Canvas(printed, WIDTH, HEIGHT)
    rows = [(label, value) for section in printed.sections for label, value in section.rows]
    known: dict[str, _Placed] = {}
    for number in range(1, printed.count + 1):
        canvas.add_page()
        own = printed.each[number - 1] if number <= len(printed.each) else ""
        if own not in known:
            changed = [(label, own if own and label == printed.each_label else value) for label, value in rows]
            known[own] = _placed(canvas, changed)
        _draw(canvas, printed, known[own], number)
    return canvas.content()


def _draw(canvas: drawing.Canvas, printed: Printed, placed: _Placed, number: int) -> None:
    canvas.set_fill_color(printed.colour or "#ffffff")
    canvas.rect(0, 0, WIDTH, _BAND, "F")
    canvas.rect(0, HEIGHT - _FOOT, WIDTH, _FOOT, "F")
    category = _("Category: %(category)s", category=printed.category)
    canvas.one_line(category, _PAD, 1.2, WIDTH - 2 * _PAD, points=11, bold=True)
    title = f"{printed.title} · {printed.document}/{number}"
    canvas.one_line(title, _PAD, 6.2, WIDTH - 2 * _PAD, points=8)
    canvas.code(printed.code, WIDTH - _PAD - _CODE, _BAND + 1.5, _CODE)
    for x, y, width, size, label, value in placed:
        took = canvas.write_in(label, x, y, width, points=size - 1, colour="#444444")
        canvas.write_in(value, x, y + took, width, points=size, bold=True)
    canvas.one_line(
        f"{printed.number} · {printed.state}", _PAD, HEIGHT - _FOOT + 1, WIDTH - 2 * _PAD, points=7, bold=True
    )


def _placed(canvas: drawing.Canvas, rows: Sequence[tuple[str, str]]) -> _Placed:
    """Two columns, in the largest type that finds room; nothing is left out."""
    found: _Placed = []
    for size in _SIZES:
        fits, found = _place(canvas, rows, size)
        if fits:
            break
    return found


def _place(canvas: drawing.Canvas, rows: Sequence[tuple[str, str]], size: float) -> tuple[bool, _Placed]:
    top, room = _BAND + 1.8, HEIGHT - _BAND - _FOOT - 3
    first = (WIDTH - 3 * _PAD) * 0.5
    columns = ((_PAD, first), (_PAD * 2 + first, WIDTH - _PAD * 3 - first - _CODE - 1))
    placed: _Placed = []
    column, down = 0, 0.0
    for label, value in rows:
        height = _height(canvas, label, value, columns[column][1], size)
        if down + height > room and column == 0:
            column, down = 1, 0.0
            height = _height(canvas, label, value, columns[column][1], size)
        x, width = columns[column]
        placed.append((x, top + down, width, size, label, value))
        down += height + _GAP
    return down <= room + _GAP, placed


def _height(canvas: drawing.Canvas, label: str, value: str, width: float, size: float) -> float:
    return canvas.height_of(label, width, points=size - 1) + canvas.height_of(value, width, points=size, bold=True)
