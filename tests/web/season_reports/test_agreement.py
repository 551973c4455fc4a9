"""Page, PDF and workbook of a report say the same to the last cell, and a difference in any of them is found."""

from __future__ import annotations

import datetime as dt
import io
from dataclasses import replace
from typing import Any

import openpyxl
import pypdfium2
import pytest
from flask import Flask
from sqlalchemy.orm import Session

from nursery.documents.report_parts import SeasonDocument
from nursery.models import Deviation
from nursery.services.season_report import check_agreement, gather_figures, report_pdf, report_xlsx, show
from nursery.web.season_reports.showing import body_of
from tests.services.season_report.conftest import SEASON, Season


@pytest.fixture
def figures(session: Session, season: Season, today: dt.date) -> dict[str, Any]:
    return gather_figures(session, season=SEASON, today=today)


def page_of(app: Flask, document: SeasonDocument) -> str:
    with app.app_context():
        return str(body_of(app, document, lambda key, **_more: f"/{key}.svg"))


def texts(pdf: bytes) -> str:
    read = pypdfium2.PdfDocument(pdf)
    found = "\n".join(page.get_textpage().get_text_bounded() for page in read)
    read.close()
    return found


@pytest.mark.parametrize("language", ["en", "pt", "es"])
def test_the_three_agree_in_every_language(app: Flask, figures: dict[str, Any], language: str) -> None:
    document = show(figures, language=language)
    found = check_agreement(
        document, page=page_of(app, document), pdf=report_pdf(document), workbook=report_xlsx(document)
    )
    assert found.faults == []
    assert found.is_whole
    cells = sum(
        len(table.columns) * (1 + len(table.rows) + (table.total is not None))
        for table in document.tables
        if table.rows
    )
    assert found.page == cells + len(document.facts)
    assert found.pdf == cells + 2 * len(document.facts)
    assert found.workbook > cells


def test_no_part_of_the_small_season_is_empty(figures: dict[str, Any]) -> None:
    document = show(figures, language="en")
    assert [table.key for table in document.tables if not table.rows] == []
    assert {"planted", "survival", "origins", "losses", "costs", "hours"} == set(document.charts)


def test_numbers_and_days_are_written_as_each_language_writes_them(figures: dict[str, Any]) -> None:
    english, portuguese = (texts(report_pdf(show(figures, language=code))) for code in ("en", "pt"))
    assert "28.0" not in english  # no digit is written that says nothing
    assert "39.5" in english
    assert "39,5" in portuguese
    assert "20 Dec 2025" in english
    assert "20/12/2025" in portuguese
    assert "€84.30" in english
    assert "84,30" in portuguese


def test_a_wrong_cell_on_the_page_is_found(app: Flask, figures: dict[str, Any]) -> None:
    document = show(figures, language="en")
    page = page_of(app, document).replace('<td class="num">168</td>', '<td class="num">169</td>', 1)
    found = check_agreement(document, page=page, pdf=report_pdf(document), workbook=report_xlsx(document))
    assert not found.is_whole
    assert [fault for fault in found.faults if "169" in fault] == found.faults


def test_a_workbook_that_rounds_is_found(app: Flask, figures: dict[str, Any]) -> None:
    document = show(figures, language="en")
    book = openpyxl.load_workbook(io.BytesIO(report_xlsx(document)))
    sheet = book["Survival by species and site"]
    heads = [cell.value for cell in sheet[1]]
    low = sheet.cell(row=2, column=heads.index("Low (95 %)") + 1)
    low.value = round(low.value, 3)
    changed = io.BytesIO()
    book.save(changed)
    found = check_agreement(
        document, page=page_of(app, document), pdf=report_pdf(document), workbook=changed.getvalue()
    )
    assert not found.is_whole
    assert all("Workbook, Survival by species and site, row 2" in fault for fault in found.faults)


def test_a_pdf_of_other_figures_is_found(app: Flask, figures: dict[str, Any]) -> None:
    document = show(figures, language="en")
    other = {**figures, "tables": {**figures["tables"]}}
    losses = {**figures["tables"]["losses"]}
    losses["rows"] = [[*losses["rows"][0][:2], 31, losses["rows"][0][3]], *losses["rows"][1:]]
    other["tables"]["losses"] = losses
    found = check_agreement(
        document, page=page_of(app, document), pdf=report_pdf(show(other, language="en")),
        workbook=report_xlsx(document),
    )  # fmt: skip
    assert any("no row" in fault and "Disease" in fault for fault in found.faults)
    assert any("digest" in fault for fault in found.faults)


def test_a_missing_sheet_is_found(app: Flask, figures: dict[str, Any]) -> None:
    document = show(figures, language="en")
    fewer = replace(document, sections=document.sections[1:])
    found = check_agreement(
        document, page=page_of(app, document), pdf=report_pdf(document), workbook=report_xlsx(fewer)
    )
    assert any("the sheet “Plants by species” is missing" in fault for fault in found.faults)


def test_a_report_kept_before_a_number_was_thought_of_tells_the_others(
    app: Flask, figures: dict[str, Any]
) -> None:
    del figures["facts"]["documented"]
    document = show(figures, language="en")
    assert "documented" not in {fact.key for fact in document.facts}
    found = check_agreement(
        document, page=page_of(app, document), pdf=report_pdf(document), workbook=report_xlsx(document)
    )
    assert found.faults == []


@pytest.mark.parametrize(
    "text",
    [
        "=1+1 <b>5 < 6</b> & more",
        "two lines\n\nand\ttabs  and   blanks",
        "Ωμέγα, река, 水, 🌱 and \u200bnothing \u00adsoft",
        "x" * 400,
        "a-b re-\nread 1–2 “quoted” ±5 ≥ 3 → √2",
        "\u202eturned\u202c round",
        "'apostrophe first",
    ],
)
def test_words_of_people_stay_text_whatever_they_are(
    app: Flask, session: Session, season: Season, today: dt.date, text: str
) -> None:
    session.add(Deviation(season=SEASON, happened_on=dt.date(2026, 1, 2), what=text, action="-"))
    season.bank.name = f"Bank {text}"[:100]
    session.flush()
    document = show(gather_figures(session, season=SEASON, today=today), language="en")
    page = page_of(app, document)
    assert "<b>5" not in page
    found = check_agreement(document, page=page, pdf=report_pdf(document), workbook=report_xlsx(document))
    assert found.faults == []
