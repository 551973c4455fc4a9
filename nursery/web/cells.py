"""The cells of a list, as a person reads them.

They are written a column at a time: what is the same for all rows, such as how its numbers are written and where
its links lead, is found once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from flask import request, url_for
from markupsafe import Markup, escape
from sqlalchemy import Row

from nursery.i18n import format_date, format_moment, format_number, format_percent
from nursery.services.listing import Column
from nursery.web.access import may
from nursery.web.once import once

#: The largest number that an address takes; it stands for any record's while an address is worked out.
BIGGEST_ID = 2**31 - 1

_UNSAFE = re.compile("[&<>'\"]").search

Cells = list[tuple[Row[Any], list[tuple[Column, str]]]]
Draw = Callable[[Row[Any], Column, str], str]


def read_cells(columns: Sequence[Column], rows: Sequence[Row[Any]]) -> Cells:
    """Each row with the texts of its cells, linked where a column leads somewhere."""
    if not rows or not columns:
        return [(row, []) for row in rows]
    texts = zip(*(_texts(column, rows) for column in columns), strict=True)
    return [(row, list(zip(columns, told, strict=True))) for row, told in zip(rows, texts, strict=True)]


def table_rows(cells: Cells, draw: Draw | None = None, note: Callable[[Row[Any]], str] | None = None) -> Markup:
    """The body of a table: ``draw`` writes cells in another way, ``note`` is written behind a row's first cell."""
    if not cells:
        return Markup()
    _first, *others = cells[0][1]
    opening = ['<td class="num">' if column.is_number else "<td>" for column, _text in others]
    lines = []
    for row, told in cells:
        head, *rest = [_safe(draw(row, column, text) if draw else text) for column, text in told]
        noted = _safe(note(row)) if note else ""
        following = "".join([f"{cell}{text}</td>" for cell, text in zip(opening, rest, strict=True)])
        lines.append(f'<tr><th scope="row">{head}{noted}</th>{following}</tr>')
    return _markup("\n".join(lines))


def show_value(column: Column, value: Any) -> str:
    """A value in the reader's language; nothing for nothing."""
    return "" if value is None or value == "" else _writer(column)(value)


def _texts(column: Column, rows: Sequence[Row[Any]]) -> list[str]:
    names = rows[0]._fields
    place, write = names.index(column.key), _writer(column)
    texts = ["" if (value := row[place]) is None or value == "" else write(value) for row in rows]
    way = _way(column.link[0]) if column.link else None
    if way is None:
        return texts
    (before, after), place = way, names.index(f"{column.key}_link")
    return [
        text if not text or (target := row[place]) is None
        else _markup(f'<a href="{before}{target}{after}">{_safe(text)}</a>')
        for row, text in zip(rows, texts, strict=True)
    ]  # fmt: skip


def _way(endpoint: str) -> tuple[str, str] | None:
    """The address of a record's page, cut where its number stands; None for who may not go there."""
    if not may(endpoint):
        return None
    return once(("way", endpoint, request.script_root), lambda: _cut(endpoint))


def _cut(endpoint: str) -> tuple[str, str]:
    before, _number, after = url_for(endpoint, record_id=BIGGEST_ID).partition(str(BIGGEST_ID))
    return str(escape(before)), str(escape(after))


def _safe(text: str) -> str:
    """The text as it may stand in a page. Most texts hold nothing to escape, and to look is quicker."""
    return text if type(text) is Markup or _UNSAFE(text) is None else escape(text)


def _markup(escaped: str) -> Markup:
    """A text of which every part is escaped already; made past `Markup`'s own looking, as a list has hundreds."""
    return str.__new__(Markup, escaped)


def _writer(column: Column) -> Callable[[Any], str]:
    make = _WRITERS.get(column.kind)
    return make(column) if make else str


def _marked(tag: str, css: str) -> Callable[[Any], str]:
    return lambda value: _markup(f'<{tag} class="{css}">{_safe(str(value))}</{tag}>')


#: How the values of a column are written.
_WRITERS: dict[str, Callable[[Column], Callable[[Any], str]]] = {
    "taxon": lambda _column: _marked("i", "taxon"),
    "code": lambda _column: _marked("span", "code"),
    "choice": lambda column: lambda value: str(column.choices.get(str(value), value)),
    "number": lambda column: partial(format_number, digits=column.digits),
    "amount": lambda _column: lambda value: format_number(value / 1000, 3),
    "percent": lambda column: partial(format_percent, digits=column.digits),
    "date": lambda _column: format_date,
    "moment": lambda _column: format_moment,
    "season": lambda _column: lambda value: f"{value}/{(value + 1) % 100:02d}",
}
