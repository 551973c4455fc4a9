"""The words of whatever an application sends: pages, tables, papers, workbooks, packages, drawings, calendars."""

from __future__ import annotations

import io
import zipfile
from html import unescape

import pypdfium2


def words_of(content: bytes) -> str:
    """All text in a file, the parts of a package and what a program tells of itself among it.

    Without blanks, because a paper breaks its lines wherever it likes.
    """
    return "".join(unescape(_text(content)).split())


def _text(content: bytes) -> str:
    if content.startswith(b"%PDF-"):
        return _printed(content)
    if content.startswith(b"PK\x03\x04"):  # a workbook is a package too: its cells, remarks and authors are XML
        with zipfile.ZipFile(io.BytesIO(content)) as package:
            return "\n".join(f"{name}\n{_text(package.read(name))}" for name in package.namelist())
    return content.decode("utf-8", errors="replace").replace("\r\n ", "")  # calendars fold their lines


def _printed(content: bytes) -> str:
    document = pypdfium2.PdfDocument(content)
    try:
        told = "\n".join(page.get_textpage().get_text_range() for page in document)
        return told + "\n".join(document.get_metadata_dict().values())
    finally:
        document.close()
