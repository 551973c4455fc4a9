"""The plant passport: its elements inside a border, apart from all other print.

Regulation (EU) 2016/2031 Annex VII part A names the elements, Implementing Regulation (EU) 2017/2313 art. 2 the
form: inside a rectangle, legible without aid; size, type and border are free. Into a protected zone (part B, read
in texts about it) the title ends in “PZ” and the organisms stand below it. That title is printed in English alone:
it is an official language, and others have letters of their own for “PZ”.
"""

from __future__ import annotations

import math

from nursery.documents.heavy import drawing
from nursery.documents.papers.printed import Passport, Printed

WIDTH, HEIGHT = 105.0, 62.0
_PAD, _FOOT = 3.0, 5.0
_FLAG_WIDTH, _FLAG_HEIGHT = 18.0, 12.0
_BLUE, _GOLD = "#003399", "#ffcc00"
ENGLISH = "Plant Passport"
ZONE = f"{ENGLISH} – PZ"


def passport_pdf(printed: Printed) -> bytes:
    """One passport a trade unit."""
    canvas = drawing.Canvas(printed, WIDTH, HEIGHT)
    for passport in printed.passports:
        for _copy in range(passport.count):
            canvas.add_page()
            _draw(canvas, printed, passport)
    return canvas.content()


def title_of(official: str) -> str:
    """The title in the official language and, if that is another, in English, with a slash."""
    return f"{official} / {ENGLISH}" if official and official != ENGLISH else ENGLISH


def _draw(canvas: drawing.Canvas, printed: Printed, passport: Passport) -> None:
    canvas.set_draw_color(0)
    canvas.set_line_width(0.6)
    canvas.rect(_PAD, _PAD, WIDTH - 2 * _PAD, HEIGHT - _PAD - _FOOT - 2)
    _flag(canvas, _PAD + 3, _PAD + 3)
    x = _PAD + 3 + _FLAG_WIDTH + 4
    title = ZONE if printed.zone else title_of(printed.official_title)
    canvas.one_line(title, x, _PAD + 6, WIDTH - x - _PAD - 3, points=15, bold=True)
    if printed.zone:
        canvas.one_line(printed.zone, x, _PAD + 12, WIDTH - x - _PAD - 3, points=10)
    elements = (
        ("A", passport.name),
        ("B", passport.operator),
        ("C", passport.code),
        ("D", passport.country),
    )
    y = _PAD + 3 + _FLAG_HEIGHT + 4
    for letter, text in elements:
        canvas.one_line(letter, _PAD + 4, y, 6, points=12, bold=True)
        canvas.one_line(text, _PAD + 11, y, WIDTH - 2 * _PAD - 11 - 28, points=12)
        y += 7
    canvas.code(passport.code, WIDTH - _PAD - 28, _PAD + 3 + _FLAG_HEIGHT + 3, 25)
    canvas.one_line(f"{printed.number} · {printed.state}", _PAD, HEIGHT - _FOOT, WIDTH - 2 * _PAD, points=7)


def _flag(pdf: drawing.Canvas, x: float, y: float) -> None:
    """The flag of the Union: twelve stars in a circle, each upright, two parts high to three wide."""
    pdf.set_fill_color(_BLUE)
    pdf.rect(x, y, _FLAG_WIDTH, _FLAG_HEIGHT, "F")
    pdf.set_fill_color(_GOLD)
    middle_x, middle_y, ring, radius = (
        x + _FLAG_WIDTH / 2,
        y + _FLAG_HEIGHT / 2,
        _FLAG_HEIGHT / 3,
        _FLAG_HEIGHT / 18,
    )
    for star in range(12):
        turn = math.radians(30 * star)
        centre = middle_x + ring * math.sin(turn), middle_y - ring * math.cos(turn)
        pdf.polygon(_star(centre, radius), style="F")


def _star(centre: tuple[float, float], radius: float) -> list[tuple[float, float]]:
    """Five points; the inner corners lie where the lines of a pentagram cross."""
    inner = radius * math.cos(math.radians(72)) / math.cos(math.radians(36))
    corners = []
    for corner in range(10):
        turn, far = math.radians(36 * corner), radius if corner % 2 == 0 else inner
        corners.append((centre[0] + far * math.sin(turn), centre[1] - far * math.cos(turn)))
    return corners
