"""Files that go to the person: templates to fill in, and the list of refused rows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from nursery.i18n import gettext as _
from nursery.services.importing.columns import Column, Shape
from nursery.services.importing.kinds import find_kind
from nursery.services.importing.outcome import Preview
from nursery.tabular.templates import TemplateColumn, template_csv, template_xlsx
from nursery.tabular.writer import Heading, write_csv

#: Columns whose cells a spreadsheet would turn into something else.
_KEPT_AS_TEXT = {Shape.TEXT, Shape.CODE, Shape.LOT_CODE, Shape.DAY, Shape.SEASON, Shape.REFERENCE, Shape.SPECIES}


def make_template(kind: str, form: str) -> bytes:
    """The template of a kind as ``csv`` or ``xlsx``."""
    chosen = find_kind(kind)
    columns = [_template_column(column, form) for column in chosen.columns]
    return template_xlsx(str(chosen.label), columns) if form == "xlsx" else template_csv(columns)


def _template_column(column: Column, form: str) -> TemplateColumn:
    example: str | float | dt.date = column.example
    if column.example and form == "xlsx":
        if column.shape in {Shape.NUMBER, Shape.WHOLE, Shape.PERCENT, Shape.LATITUDE, Shape.LONGITUDE}:
            example = float(column.example)
        elif column.shape is Shape.DATE:
            example = dt.date.fromisoformat(column.example)
    return TemplateColumn(
        heading=str(column.label),
        help=str(column.help),
        required=column.required,
        example=example,
        is_text=column.shape in _KEPT_AS_TEXT,
    )


def refused_rows_csv(found: Preview) -> Iterator[bytes]:
    """Every reason of every refused row, in portions."""
    headings = [Heading(_("Row")), Heading(_("Column")), Heading(_("Value")), Heading(_("Reason"))]
    rows = ((finding.row, finding.column, finding.value, finding.reason) for finding in found.findings)
    return write_csv(headings, rows, bom=True)
