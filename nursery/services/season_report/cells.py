"""Raw values of the figures as a workbook keeps them and as page and paper write them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from nursery.documents.report_parts import Cell, ReportTable
from nursery.documents.report_parts import Column as ShownColumn
from nursery.i18n import format_date, format_money, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.season_report.columns import COLUMNS, Column
from nursery.services.seasons import season_name

#: What stands where a record has no name of its own.
NAMELESS = {
    "site": _l("No site named"),
    "funder": _l("No funder named"),
    "death_cause": _l("Cause not seen"),
    "species": _l("No species"),
    "where": _l("The whole season"),
}
#: What stands where a number is not known.
UNKNOWN = "–"
#: Columns that are left out of a table where none of their cells tells anything.
OPTIONAL = {
    "missing", "received", "replaced", "replaced_alive", "fruit_grams", "pieces", "region", "effective", "mothers",
    "is_local", "local", "given", "in_kind", "surviving", "each_surviving", "withdrawn_on", "people", "volunteers",
    "area_m2", "per_ha", "bought", "plants_per_kg", "establishment", "hardening", "cull",
}  # fmt: skip


def shown_table(
    key: str, figures: Mapping[str, Any], *, title: str, lead: str = "", empty: str = ""
) -> ReportTable:
    """A table of the figures in the language in force."""
    found, currency = figures["tables"][key], figures["currency"]
    kept = [
        at for at, name in enumerate(found["columns"])
        if name not in OPTIONAL or any(row[at] for row in found["rows"])
    ]  # fmt: skip
    columns = [(found["columns"][at], COLUMNS[found["columns"][at]]) for at in kept]
    total = None
    if found["total"] is not None and len(found["rows"]) > 0:
        total = [
            _total_cell(at, name, column, value, currency)
            for at, ((name, column), value) in enumerate(
                zip(columns, [found["total"][at] for at in kept], strict=True)
            )
        ]
    return ReportTable(
        key, title,
        [
            ShownColumn(name, str(column.label), column.kind, column.digits, column.width)
            for name, column in columns
        ],
        [
            [shown_cell(name, column, row[at], currency) for at, (name, column) in zip(kept, columns, strict=True)]
            for row in found["rows"]
        ],
        total, lead, empty or _("Nothing is on record."),
    )  # fmt: skip


def shown_cell(name: str, column: Column, value: Any, currency: str) -> Cell:
    """One value."""
    if column.kind == "yes":
        text = {True: _("yes"), False: _("no")}.get(value, UNKNOWN)
        return Cell(None if value is None else text, text)
    if column.kind == "word" and column.words is not None:
        text = str(column.words.get(value, value)) if value else str(NAMELESS.get(name, UNKNOWN))
        return Cell(text, text)
    if column.kind in {"text", "code", "taxon", "word"}:
        text = value or str(NAMELESS.get(name, ""))
        return Cell(text, text or UNKNOWN)
    if value is None:
        return Cell(None, UNKNOWN)
    return _number_cell(column, value, currency)


def _number_cell(column: Column, value: Any, currency: str) -> Cell:
    if column.kind == "date":
        day = dt.date.fromisoformat(value)
        return Cell(day, format_date(day))
    if column.kind == "season":
        return Cell(season_name(value), season_name(value))
    if column.kind == "percent":
        return Cell(value, format_percent(value, column.digits))
    if column.kind == "money":
        return Cell(value, format_money(value, currency, column.digits))
    return Cell(value, format_number(value, column.digits))


def _total_cell(at: int, name: str, column: Column, value: Any, currency: str) -> Cell:
    if at == 0:
        return Cell(_("All together"), _("All together"))
    if value is None or value == "":
        return Cell(None, "")
    return shown_cell(name, column, value, currency)
