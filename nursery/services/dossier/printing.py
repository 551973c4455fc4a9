"""Tables of a dossier as they are printed: some of their columns, in the reader's words and numbers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

from nursery.documents.dossier import PrintedTable
from nursery.documents.pages import Align, Head
from nursery.i18n import format_date, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.services.surveys.words import cause_name
from nursery.tabular.packages import Column, Table

#: What stands in an empty cell.
NOTHING = "–"


def printed(
    table: Table,
    columns: str,
    *,
    note: str = "",
    where: Callable[[Mapping[str, Any]], bool] | None = None,
    title: str = "",
) -> list[PrintedTable]:
    """The columns asked for, each with its width (``"lot 1.4, notes 0.8?"``); nothing where no row is left.

    A column whose width ends in a question mark is left out where it is empty all the way down.
    """
    if where is None:
        rows = list(table.rows)
    else:
        rows = [row for row, record in zip(table.rows, table.records(), strict=True) if where(record)]
    if not rows:
        return []
    asked = [
        (name, float(width.rstrip("?")))
        for name, width in (one.split() for one in columns.split(","))
        if not width.endswith("?") or any(row[table.at(name)] not in {None, "", False} for row in rows)
    ]
    shown = [(table.at(name), table.column(name)) for name, _width in asked]
    heads = [
        Head(column.title, width, align_of(column))
        for (_at, column), (_name, width) in zip(shown, asked, strict=True)
    ]
    cells = [[told(column, row[at]) for at, column in shown] for row in rows]
    return [PrintedTable(title or table.title, heads, cells, note)]


def align_of(column: Column) -> Align:
    """Numbers stand at the right."""
    return "RIGHT" if column.kind in {"number", "integer", "fraction"} and not is_year(column) else "LEFT"


def is_year(column: Column) -> bool:
    """Whether its whole numbers are years, which have no thousands."""
    return column.name in {"ripening_year", "season"}


def told(column: Column, value: Any) -> str:
    """A value as people read it."""
    if value is None or value == "":
        return NOTHING
    if column.words:
        return column.words[value]
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, dt.date):
        return format_date(value)
    if isinstance(value, str):
        return _causes(value) if column.name == "causes" else value.replace(";", ", ")
    return _number(column, value)


def _causes(text: str) -> str:
    """``drought=9;frost=1`` in words."""
    parts = (part.split("=") for part in text.split(";"))
    return "; ".join(f"{cause_name(cause)} {plants}" for cause, plants in parts)


def _number(column: Column, value: float) -> str:
    if column.kind == "fraction":
        return format_percent(value, column.digits)
    if is_year(column):
        return str(value)
    if column.name in {"latitude", "longitude"}:
        return f"{value:.{column.digits}f}"
    return format_number(value, column.digits)
