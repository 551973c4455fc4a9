"""The report as files: PDF and workbook."""

from __future__ import annotations

from collections.abc import Sequence

from nursery.documents.report_parts import Cell, Column, ReportTable, SeasonDocument
from nursery.documents.season_report import season_report_pdf
from nursery.i18n import gettext as _
from nursery.i18n import locale_of
from nursery.tabular.writer import Cell as Native
from nursery.tabular.writer import CellKind, Heading, Sheet, write_workbook

__all__ = ["report_pdf", "report_sheets", "report_xlsx"]

_KINDS: dict[str, CellKind] = {"number": "number", "money": "number", "percent": "percent", "date": "date"}

report_pdf = season_report_pdf


def report_xlsx(document: SeasonDocument) -> bytes:
    """A workbook: the facts, one sheet a table, and a sheet of definitions."""
    return b"".join(write_workbook(report_sheets(document)))


def report_sheets(document: SeasonDocument) -> list[Sheet]:
    """The sheets in the order of the report; no two titles are alike."""
    with locale_of(document.language):
        words = document.words
        sheets = [
            Sheet(
                words.in_short,
                [Heading(words.number, width=34), Heading(words.value, "number", width=16), Heading(_("Note"))],
                [[fact.label, fact.cell.value, fact.note] for fact in document.facts],
            ),
            *(_sheet(table) for table in document.tables),
            Sheet(
                words.notes,
                [Heading(words.term, width=30), Heading(words.formula, width=90), Heading(words.source, width=40)],
                [
                    *([one.term, one.formula, one.source] for one in document.definitions),
                    [words.digest, document.digest, words.agreement],
                ],
            ),
        ]
    return _apart(sheets)


def _sheet(table: ReportTable) -> Sheet:
    rows: list[Sequence[Cell]] = [*table.rows, *([table.total] if table.total is not None else [])]
    return Sheet(table.title, [_heading(one) for one in table.columns], [_natives(row) for row in rows])


def _heading(column: Column) -> Heading:
    return Heading(
        column.label, _KINDS.get(column.kind, "text"),
        digits=column.digits if column.kind in {"number", "money"} else None, width=round(8 + 9 * column.width),
    )  # fmt: skip


def _natives(cells: Sequence[Cell]) -> list[Native]:
    return [cell.value for cell in cells]


def _apart(sheets: Sequence[Sheet]) -> list[Sheet]:
    """Titles that differ in their first 31 signs."""
    used: set[str] = set()
    found = []
    for number, sheet in enumerate(sheets, 1):
        # Signs that a sheet's name cannot hold.
        title = "".join(" " if sign in r"[]:*?/\'" else sign for sign in sheet.title)[:31].strip()
        if title.casefold() in used:
            title = f"{number} {sheet.title}"[:31]
        used.add(title.casefold())
        found.append(Sheet(title, sheet.headings, sheet.rows))
    return found
