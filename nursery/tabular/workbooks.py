"""Excel workbooks: values only, and never more than the memory can hold."""

from __future__ import annotations

import datetime as dt
import io
import lzma
import re
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from typing import Any

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.tabular.headings import is_blank
from nursery.tabular.table import EPOCH_1900, MAX_COLUMNS

#: Bytes a workbook may unpack to; 100,000 rows of a nursery's table take about half.
MAX_UNPACKED = 256 * 1024 * 1024
MAX_PARTS = 2000
#: Rows looked at to see how wide a sheet is.
_FIRST_ROWS = 200
#: A formula whose result was never stored: the file was made by a program that does not calculate.
_UNCALCULATED = re.compile(
    rb'<c\b(?![^>]*\bt="str")[^>]*>\s*<f\b[^<]*(?:</f>|(?<=/>))\s*(?:<v\s*/>|<v>\s*</v>)?\s*</c>'
)


def open_workbook(content: bytes) -> tuple[Iterator[list[Any]], str, dt.datetime]:
    """Rows of the first sheet that holds anything, that sheet's name, and the day from which its dates count."""
    import openpyxl  # noqa: PLC0415 -- slow import

    _refuse_bombs(content)
    try:
        with warnings.catch_warnings():
            # Notes about features a table does not need (validation lists, missing styles).
            warnings.simplefilter("ignore", UserWarning)
            book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
            sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"] or book.worksheets
            for sheet in sheets:
                sheet.reset_dimensions()  # some programs store a wrong extent, which would cut rows off
                if width := _width(sheet):
                    return _rows(sheet, width), sheet.title, book.epoch
    except _BROKEN as error:
        raise _damaged() from error
    return iter(()), "", EPOCH_1900


#: What openpyxl lets through when parts are missing, cut short or not what they should be; broken XML is a
#: SyntaxError, whichever of two readers of XML it finds installed.
_BROKEN = (
    zipfile.BadZipFile, SyntaxError, KeyError, ValueError, TypeError, AttributeError, IndexError, EOFError,
    OSError, NotImplementedError, OverflowError, RuntimeError, zlib.error, lzma.LZMAError,
)  # fmt: skip


def _width(sheet: Any) -> int:
    """Columns up to the last filled one of the first rows; 0 for a sheet without anything there."""
    start = sheet.iter_rows(max_row=_FIRST_ROWS, max_col=MAX_COLUMNS + 1, values_only=True)
    filled = [place for row in start for place, cell in enumerate(row, start=1) if not is_blank(cell)]
    return max(filled, default=0)


def _rows(sheet: Any, width: int) -> Iterator[list[Any]]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)
            # One column more than the headings can have shows rows that are too long.
            for row in sheet.iter_rows(max_col=width + 1, values_only=True):
                yield list(row)
    except _BROKEN as error:
        raise _damaged() from error


def _damaged() -> Invalid:
    return Invalid(
        {
            "file": _(
                "This workbook is damaged or was cut short while it was copied. Open it in a spreadsheet program,"
                " save it again as .xlsx, and choose the new file."
            )
        }
    )


def _refuse_bombs(content: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = archive.infolist()
            # The reader never unpacks more of a part than is declared here, so the sum can be trusted.
            if len(parts) > MAX_PARTS or sum(part.file_size for part in parts) > MAX_UNPACKED:
                raise Invalid(
                    {"file": _("This workbook unpacks to more than can be read. Split it into smaller files.")}
                )
            names = {part.filename for part in parts}
            if "xl/workbook.xml" not in names and "[Content_Types].xml" not in names:
                raise Invalid(
                    {
                        "file": _(
                            "This is not an Excel workbook (.xlsx). Open it in a spreadsheet program and save it"
                            " as .xlsx or CSV."
                        )
                    }
                )
            for part in parts:
                if part.filename.startswith("xl/worksheets/sheet"):
                    _refuse_uncalculated(archive.read(part))
    except _BROKEN as error:
        raise _damaged() from error


def _refuse_uncalculated(sheet: bytes) -> None:
    if b"<f" in sheet and _UNCALCULATED.search(sheet):
        raise Invalid(
            {
                "file": _(
                    "This workbook has formulas whose results were never stored. Open it in a spreadsheet program,"
                    " save it, and choose it again."
                )
            }
        )
