"""Tables out: CSV (RFC 4180) and XLSX, streamed, and safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import datetime as dt
import io
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import IO, Any, Literal

Cell = str | int | float | dt.date | None
CellKind = Literal["text", "number", "percent", "date"]

CSV_TYPE = "text/csv; charset=utf-8"
XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
#: Characters at the start of a text that make a spreadsheet calculate, among them the full-width forms.
TRIGGERS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
#: What is not seen before them: spreadsheets, and our own workbooks, drop it and read what follows.
_UNSEEN = (
    "".join(map(chr, [*range(9), 11, 12, *range(14, 32), 127])) + "\u200b\u200e\u200f\u202a\u202e\u2060\ufeff"
)
_FORMATS = {"percent": "0.0%", "date": "yyyy-mm-dd"}
_PORTION = 64 * 1024


@dataclass(frozen=True, slots=True)
class Heading:
    """The head of a column; ``kind`` says how its cells are written, ``digits`` how many decimals XLSX shows."""

    label: str
    kind: CellKind = "text"
    digits: int | None = None
    width: int = 16


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table of a workbook, with the title of its sheet."""

    title: str
    headings: Sequence[Heading]
    rows: Iterable[Sequence[Cell]]


def neutralise(text: str) -> str:
    """A text that no spreadsheet takes for a formula: an apostrophe goes before a dangerous first character."""
    return "'" + text if calculates(text) else text


def calculates(text: str) -> bool:
    """Whether a spreadsheet might take the text for a formula."""
    return text.lstrip(_UNSEEN).startswith(TRIGGERS)


def write_csv(
    headings: Sequence[Heading], rows: Iterable[Sequence[Cell]], *, bom: bool = False
) -> Iterator[bytes]:
    """The table as UTF-8 CSV in portions: commas, CRLF, ISO dates, decimal points; ``bom`` for spreadsheets."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    if bom:
        buffer.write("\ufeff")
    writer.writerow([neutralise(heading.label) for heading in headings])
    for row in rows:
        writer.writerow([_plain(cell) for cell in row])
        if buffer.tell() > _PORTION:
            yield _emptied(buffer)
    yield _emptied(buffer)


def write_xlsx(title: str, headings: Sequence[Heading], rows: Iterable[Sequence[Cell]]) -> Iterator[bytes]:
    """The table as one XLSX sheet in portions: true dates and numbers, the heading frozen and bold."""
    return write_workbook([Sheet(title, headings, rows)])


def write_workbook(sheets: Sequence[Sheet]) -> Iterator[bytes]:
    """Several tables as one XLSX file, a sheet each, in portions; titles must differ in their first 31 signs."""
    with tempfile.SpooledTemporaryFile(max_size=4 * 1024 * 1024) as file:
        _save_xlsx(file, sheets)
        file.seek(0)
        while portion := file.read(_PORTION):
            yield portion


def _save_xlsx(file: IO[bytes], sheets: Sequence[Sheet]) -> None:
    from openpyxl import Workbook  # noqa: PLC0415 -- slow import

    book = Workbook(write_only=True)
    for sheet in sheets:
        _fill(book.create_sheet(_sheet_title(sheet.title)), sheet.headings, sheet.rows)
    book.save(file)


def _fill(sheet: Any, headings: Sequence[Heading], rows: Iterable[Sequence[Cell]]) -> None:
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415 -- slow import
    from openpyxl.styles import Font  # noqa: PLC0415 -- slow import
    from openpyxl.utils import get_column_letter  # noqa: PLC0415 -- slow import

    sheet.freeze_panes = "A2"
    for number, heading in enumerate(headings, start=1):
        sheet.column_dimensions[get_column_letter(number)].width = heading.width

    def cell(value: Cell, number_format: str | None) -> Any:
        if isinstance(value, str):
            made = WriteOnlyCell(sheet, value=_without_controls(value))
            if calculates(value):
                made.data_type = "s"  # openpyxl would write a formula
                made.quotePrefix = True  # and so that it stays text when a person edits the cell
            return made
        if value is None or number_format is None:
            return value
        made = WriteOnlyCell(sheet)
        made.value = value
        made.number_format = number_format
        return made

    formats = [_number_format(heading) for heading in headings]
    top = [cell(heading.label, None) for heading in headings]
    for made in top:
        made.font = Font(bold=True)
    sheet.append(top)
    for row in rows:
        sheet.append([cell(value, shape) for value, shape in zip(row, formats, strict=True)])


def _number_format(heading: Heading) -> str | None:
    if heading.kind == "number" and heading.digits is not None:
        return "0" + ("." + "0" * heading.digits if heading.digits else "")
    return _FORMATS.get(heading.kind)


def _plain(cell: Cell) -> str | int | float:
    if cell is None:
        return ""
    if isinstance(cell, dt.date):
        return cell.isoformat()
    return neutralise(cell.replace("\0", "")) if isinstance(cell, str) else cell


def _without_controls(text: str) -> str:
    # XML 1.0 holds no control character but tab, line feed and carriage return.
    return "".join(c for c in text if c in "\t\n\r" or (c >= " " and c not in "\ufffe\uffff"))


def _sheet_title(title: str) -> str:
    kept = "".join(" " if c in r"[]:*?/\'" else c for c in _without_controls(title)).strip()
    return kept[:31] or "1"


def _emptied(buffer: io.StringIO) -> bytes:
    portion = buffer.getvalue().encode()
    buffer.seek(0)
    buffer.truncate()
    return portion
