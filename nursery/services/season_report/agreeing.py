"""Page, PDF and workbook read back and held against the figures they were made of, cell by cell."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from nursery.documents.pages import printable
from nursery.documents.report_parts import SeasonDocument
from nursery.i18n import gettext as _
from nursery.services.season_report.writing import report_sheets

#: Blanks, and signs that the fonts of paper may lack: Latin letters, digits and common signs are held against.
_NOT_READ_BACK = re.compile(r"[^!-~\u00a1-\u00ac\u00ae-\u024f\u2010-\u2027\u20ac]")
#: Faults that are told; a report that is wrong throughout need not be told in full.
MOST_TOLD = 20


@dataclass
class Agreement:
    """How many cells were held against the figures in each rendering, and what was not the same."""

    page: int = 0
    pdf: int = 0
    workbook: int = 0
    faults: list[str] = field(default_factory=list)

    @property
    def is_whole(self) -> bool:
        """Whether all three say the same."""
        return not self.faults and min(self.page, self.pdf, self.workbook) > 0


def check_agreement(document: SeasonDocument, *, page: str, pdf: bytes, workbook: bytes) -> Agreement:
    """Read the three renderings and compare them with what they should say.

    Parameters
    ----------
    document : SeasonDocument
        What the figures say in the language of the renderings.
    page : str
        HTML with ``<table id="t-KEY">`` for each table that has rows, and the facts in ``<dl id="facts">``.
    pdf, workbook : bytes
        The files as a person would download them.

    Returns
    -------
    Agreement
        Every cell of every table, every fact and the digest are looked for; what differs is named.
    """
    found = Agreement()
    _check_page(document, page, found)
    _check_pdf(document, pdf, found)
    _check_workbook(document, workbook, found)
    return found


def _expected(document: SeasonDocument) -> Iterator[tuple[str, list[list[str]]]]:
    """The texts of each table that has rows: its headings, its rows, its sums."""
    for table in document.tables:
        if table.rows:
            rows = [*table.rows, *([table.total] if table.total is not None else [])]
            yield table.key, [[one.label for one in table.columns], *([cell.text for cell in row] for row in rows)]


def _check_page(document: SeasonDocument, page: str, found: Agreement) -> None:
    reader = _PageReader()
    reader.feed(page)
    for key, rows in _expected(document):
        have = reader.tables.get(key, [])
        for number, (row, other) in enumerate(_side_by_side(rows, have)):
            found.page += len(row)
            if [_flat(text) for text in row] != other:
                _tell(found, _("Page, table %(table)s, row %(row)s: %(found)s instead of %(wanted)s",
                               table=key, row=number, found=other, wanted=row))  # fmt: skip
    for fact in document.facts:
        found.page += 1
        if reader.facts.get(_flat(fact.label)) != _flat(fact.cell.text):
            told = _("Page: “%(label)s” does not say %(wanted)s", label=fact.label, wanted=fact.cell.text)
            _tell(found, told)
    if document.digest not in page:
        _tell(found, _("Page: the digest of the figures is missing"))


def _check_pdf(document: SeasonDocument, pdf: bytes, found: Agreement) -> None:
    """Cells must stand in the text in their order; what breaks lines and pages does not count."""
    text, at = _pdf_text(pdf, document), 0
    for fact in document.facts:
        at = _find(text, [fact.label, fact.cell.text], at, found, fact.label)
    for key, rows in _expected(document):
        for row in rows:
            at = _find(text, row, at, found, key)
    if document.digest not in text[at:]:
        _tell(found, _("PDF: the digest of the figures is missing"))


def _find(text: str, cells: Sequence[str], at: int, found: Agreement, where: str) -> int:
    wanted = "".join(_tight(cell) for cell in cells)
    found.pdf += len(cells)
    place = text.find(wanted, at)
    if place < 0:
        _tell(found, _("PDF, %(where)s: no row %(wanted)s", where=where, wanted=" | ".join(cells)))
        return at
    return place + len(wanted)


def _check_workbook(document: SeasonDocument, workbook: bytes, found: Agreement) -> None:
    from openpyxl import load_workbook  # noqa: PLC0415 -- slow import

    book = load_workbook(io.BytesIO(workbook), read_only=True)
    for sheet in report_sheets(document):
        if sheet.title not in book.sheetnames:
            _tell(found, _("Workbook: the sheet “%(sheet)s” is missing", sheet=sheet.title))
            continue
        wanted = [[heading.label for heading in sheet.headings], *([*row] for row in sheet.rows)]
        have = [list(row) for row in book[sheet.title].iter_rows(values_only=True)]
        for number, (row, other) in enumerate(_side_by_side(wanted, have), 1):
            found.workbook += len(row)
            if not _same(row, other):
                _tell(found, _("Workbook, %(sheet)s, row %(row)s: %(found)s instead of %(wanted)s",
                               sheet=sheet.title, row=number, found=other, wanted=row))  # fmt: skip
    book.close()


def _same(wanted: Sequence[Any], have: Sequence[Any]) -> bool:
    """Equal to the last digit: numbers as numbers, days as days; an empty text is an empty cell."""
    cells = [cell if cell != "" else None for cell in wanted]
    read = [cell.date() if hasattr(cell, "date") else cell for cell in have]
    read += [None] * (len(cells) - len(read))
    return cells == read


def _side_by_side(wanted: Sequence[Any], have: Sequence[Any]) -> Iterator[tuple[Any, Any]]:
    for at in range(max(len(wanted), len(have))):
        yield (wanted[at] if at < len(wanted) else []), (have[at] if at < len(have) else [])


def _tell(found: Agreement, fault: str) -> None:
    if len(found.faults) < MOST_TOLD:
        found.faults.append(fault)


def _flat(text: str) -> str:
    return " ".join(text.split())


def _tight(text: str) -> str:
    return _NOT_READ_BACK.sub("", printable(text))


def _pdf_text(pdf: bytes, document: SeasonDocument) -> str:
    import pypdfium2  # noqa: PLC0415 -- only for reading back

    read = pypdfium2.PdfDocument(pdf)
    pages = [_without_foot(page.get_textpage().get_text_bounded()) for page in read]
    read.close()
    # Heads of a table come again on each of its pages: they are taken out where they stand a second time.
    return _without_repeats([_tight(page) for page in pages], document)


def _without_foot(text: str) -> str:
    # A line broken at a hyphen is marked by the reader.
    text = text.replace("\ufffe", "-").replace("\x02", "-")
    return re.sub(r"\s*[^\n]*\s\d+ / \d+\s*$", "\n", text)


def _without_repeats(pages: Sequence[str], document: SeasonDocument) -> str:
    heads = ["".join(_tight(one.label) for one in table.columns) for table in document.tables if table.rows]
    cleaned = list(pages[:1])
    for page in pages[1:]:
        head = next((head for head in heads if page.startswith(head)), "")
        # A new table that begins at the top of a page has its title above its heads.
        cleaned.append(page[len(head) :])
    return "".join(cleaned)


class _PageReader(HTMLParser):
    """The texts of the tables and facts of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tables: dict[str, list[list[str]]] = {}
        self.facts: dict[str, str] = {}
        self._table = ""
        self._in_facts = self._reads = False
        self._text: list[str] = []
        self._label = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Tables and facts by their ids, and the beginnings of cells."""
        name = dict(attrs).get("id") or ""
        if tag == "table":
            self._table = name.removeprefix("t-") if name.startswith("t-") else ""
            if self._table:
                self.tables[self._table] = []
        elif tag == "dl":
            self._in_facts = name == "facts"
        elif tag == "tr" and self._table:
            self.tables[self._table].append([])
        elif (tag in {"td", "th"} and self._table) or (tag in {"dt", "dd"} and self._in_facts):
            self._reads, self._text = True, []
        elif tag == "small" and self._reads and self._in_facts:
            self._close_fact()

    def handle_endtag(self, tag: str) -> None:
        """The ends of cells."""
        if tag in {"td", "th"} and self._reads:
            self.tables[self._table][-1].append(_flat("".join(self._text)))
            self._reads = False
        elif tag == "dt" and self._reads:
            self._label, self._reads = _flat("".join(self._text)), False
        elif tag == "dd" and self._reads:
            self._close_fact()
        elif tag == "table":
            self._table = ""
        elif tag == "dl":
            self._in_facts = False

    def handle_data(self, data: str) -> None:
        """Text of the cell that is read."""
        if self._reads:
            self._text.append(data)

    def _close_fact(self) -> None:
        self.facts[self._label] = _flat("".join(self._text))
        self._reads = False
