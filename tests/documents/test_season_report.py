"""On paper the heading of a chart stands on the page of its picture."""

from __future__ import annotations

import datetime as dt

import pypdfium2
import pytest

from nursery.documents.report_parts import BarRow, Cell, Chart, DocumentWords, Fact, SeasonDocument, Section
from nursery.documents.season_report import season_report_pdf

WORDS = DocumentWords(*["word"] * 10)


@pytest.mark.parametrize("facts", range(14, 34, 2))
def test_no_heading_is_parted_from_its_chart(facts: int) -> None:
    rows = [BarRow(f"Row {at}", [(at, "done")], str(at)) for at in range(1, 12)]
    document = SeasonDocument(
        title="Title", organisation="", span="", made="", language="en", day=dt.date(2026, 11, 30), colour="",
        logo=b"", opening=(), closing=(), definitions=(), digest="0" * 64, words=WORDS,
        facts=[Fact(str(at), f"Fact {at}", Cell(at, str(at)), "number", 0) for at in range(facts)],
        sections=[Section("one", "Section head", (), [Chart("c", "Chart head", rows)], ())],
    )  # fmt: skip
    read = pypdfium2.PdfDocument(season_report_pdf(document))
    told = [
        (
            page.get_textpage().get_text_bounded(),
            any(isinstance(one, pypdfium2.PdfImage) for one in page.get_objects()),
        )
        for page in read
    ]
    read.close()
    (with_picture,) = [text for text, has_picture in told if has_picture]
    assert "Section head" in with_picture
    assert "Chart head" in with_picture
