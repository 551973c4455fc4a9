"""A dossier as a reader has it: the text of its pages, and the files of its package."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from typing import Any

import pypdfium2
from sqlalchemy.orm import Session

from nursery.documents.dossier import dossier_pdf
from nursery.services.dossier.asking import Asked
from nursery.services.dossier.gathering import gather
from nursery.services.dossier.packing import Terms, pack
from nursery.services.dossier.telling import tell


def pdf_text(session: Session, asked: Asked) -> str:
    """All pages, with single spaces; no-break spaces too."""
    pages = pypdfium2.PdfDocument(dossier_pdf(tell(session, gather(session, asked))))
    text = " ".join(page.get_textpage().get_text_range() for page in pages)
    return " ".join(text.replace("\ufffe", "").split())


def package(session: Session, asked: Asked, terms: Terms | None = None) -> bytes:
    """The zip."""
    return pack(gather(session, asked), terms or Terms())


def tables(content: bytes) -> dict[str, list[dict[str, str]]]:
    """Rows of each CSV file, by its name."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {
            name.removeprefix("data/").removesuffix(".csv"): list(
                csv.DictReader(io.StringIO(archive.read(name).decode(), newline=""))
            )
            for name in archive.namelist()
            if name.endswith(".csv")
        }


def descriptor(content: bytes) -> dict[str, Any]:
    """``datapackage.json``."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        found: dict[str, Any] = json.loads(archive.read("datapackage.json"))
        return found
