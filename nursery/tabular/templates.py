"""Empty files to fill in: headings, one example row, and what each column means."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Sequence
from dataclasses import dataclass

from nursery.i18n import gettext as _


@dataclass(frozen=True, slots=True)
class TemplateColumn:
    """A column of a template; ``is_text`` keeps spreadsheets from making dates or numbers of what is typed."""

    heading: str
    help: str
    required: bool
    example: str | float | dt.date
    is_text: bool


def template_csv(columns: Sequence[TemplateColumn]) -> bytes:
    """Comment lines (``#``), headings and the example as UTF-8 with BOM, so that spreadsheets see the accents."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    for column in columns:
        writer.writerow([f"# {_explained(column)}"])
    writer.writerow([column.heading for column in columns])
    writer.writerow([_plain(column.example) for column in columns])
    return buffer.getvalue().encode("utf-8-sig")


def template_xlsx(title: str, columns: Sequence[TemplateColumn]) -> bytes:
    """A sheet to fill in with the example, and a second sheet that explains the columns."""
    from openpyxl import Workbook  # noqa: PLC0415 -- slow import
    from openpyxl.styles import Alignment, Font  # noqa: PLC0415 -- slow import
    from openpyxl.utils import get_column_letter  # noqa: PLC0415 -- slow import

    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = title[:31]
    sheet.freeze_panes = "A2"
    for place, column in enumerate(columns, start=1):
        sheet.cell(1, place, column.heading).font = Font(
            bold=True, underline="single" if column.required else None
        )
        example = sheet.cell(2, place, column.example or None)
        shape = sheet.column_dimensions[get_column_letter(place)]
        shape.width = max(14, len(column.heading) + 3)
        if column.is_text:
            shape.number_format = example.number_format = "@"
        elif isinstance(column.example, dt.date):
            shape.number_format = example.number_format = "yyyy-mm-dd"
    explained = book.create_sheet(_("Columns"))
    for row, column in enumerate(columns, start=1):
        explained.cell(row, 1, column.heading).font = Font(bold=True)
        explained.cell(row, 2, _("required") if column.required else "")
        explained.cell(row, 3, column.help).alignment = Alignment(wrap_text=True, vertical="top")
    for letter, width in (("A", 28), ("B", 12), ("C", 90)):
        explained.column_dimensions[letter].width = width
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _explained(column: TemplateColumn) -> str:
    if column.required:
        return _("%(column)s (required): %(help)s", column=column.heading, help=column.help)
    return f"{column.heading}: {column.help}"


def _plain(value: str | float | dt.date) -> str | float:
    return value.isoformat() if isinstance(value, dt.date) else value
