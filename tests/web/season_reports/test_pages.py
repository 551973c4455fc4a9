"""From the choice of a season to the report in three renderings."""

from __future__ import annotations

import io
import time
from typing import Any

import openpyxl
import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session
from werkzeug.test import TestResponse

from nursery.models import SeasonReport
from tests.services.season_report.conftest import SEASON

pytestmark = pytest.mark.usefixtures("season")


def make(client: Any, language: str = "en", season: int = SEASON) -> TestResponse:
    """Ask for a report, and look again until there is one."""
    started = client.submit("/season-reports/new", {"season": str(season), "language": language})
    assert started.status_code == 303
    assert started.location.startswith("/season-reports/making/")
    for _again in range(600):
        answer: TestResponse = client.get(started.location)
        if "Refresh" not in answer.headers:
            return answer
        assert "Step " in answer.text
        time.sleep(0.05)
    raise AssertionError("the report was never made")


@pytest.fixture
def report(client: Any, session: Session) -> SeasonReport:
    made = make(client)
    row = session.scalars(select(SeasonReport)).one()
    assert (made.status_code, made.location) == (303, f"/season-reports/{row.id}")
    return row


def test_the_last_season_over_is_chosen_already(client: Any) -> None:
    html = client.get("/season-reports/new").text
    assert '<option value="2025" selected>2025/26 · 3 targets, 4 plantings</option>' in html
    assert "Make the report" in html
    assert "3 things in the records went otherwise than planned" in html


def test_a_report_is_kept_with_its_maker_and_told(client: Any, session: Session, report: SeasonReport) -> None:
    assert (report.season, report.language, report.person) == (SEASON, "en", "Ana Seabra")
    html = client.get(f"/season-reports/{report.id}").text
    assert "all three agree" in html
    for text in ("River trust (invented)", "We thank all who dug.", "Next winter we go on.", report.digest):
        assert text in html
    assert "No seed of the region in this mast year" in html
    assert session.scalar(select(func.count()).select_from(SeasonReport)) == 1


def test_the_own_colour_comes_as_a_sheet_of_styles(client: Any, report: SeasonReport) -> None:
    address = f"/season-reports/{report.id}/colour.css"
    assert address in client.get(f"/season-reports/{report.id}").text
    sheet = client.get(address)
    assert sheet.content_type == "text/css; charset=utf-8"
    assert "#7d2a4a" in sheet.text


def test_the_report_reads_in_other_languages_with_the_same_digest(client: Any, report: SeasonReport) -> None:
    html = client.get(f"/season-reports/{report.id}?language=pt").text
    assert '<article class="report flow" lang="pt">' in html
    assert report.digest in html
    assert "39,5" in html


def test_files_come_under_names_that_tell_the_season(client: Any, report: SeasonReport) -> None:
    pdf = client.get(f"/season-reports/{report.id}.pdf")
    assert (pdf.content_type, pdf.data[:5]) == ("application/pdf", b"%PDF-")
    assert "season-report-2025-26.pdf" in pdf.headers["Content-Disposition"]
    book = openpyxl.load_workbook(io.BytesIO(client.get(f"/season-reports/{report.id}.xlsx").data))
    assert book.sheetnames[0] == "The season in short"
    assert book.sheetnames[-1] == "What each number means"
    sheet = book["Plants by species"]
    assert [cell.value for cell in sheet[sheet.max_row]][:2] == ["All together", 290]


def test_charts_are_pictures_of_the_same_figures(client: Any, report: SeasonReport) -> None:
    chart = client.get(f"/season-reports/{report.id}/charts/planted.svg")
    assert chart.content_type.startswith("image/svg+xml")
    assert "168 of 200" in chart.text.replace("\u00a0", " ")
    assert client.get(f"/season-reports/{report.id}/charts/nothing.svg").status_code == 404


def test_the_check_reads_all_three_again(client: Any, report: SeasonReport) -> None:
    html = client.get(f"/season-reports/{report.id}/check").text
    assert "The three agree." in html
    assert report.digest in html


def test_figures_that_were_tampered_with_are_told(client: Any, session: Session, report: SeasonReport) -> None:
    figures = {**report.figures, "organisation": "Somebody else"}
    report.figures = figures
    session.commit()
    html = client.get(f"/season-reports/{report.id}/check").text
    assert "They differ." in html
    assert "their digest is another one" in html


def test_a_report_put_aside_leaves_the_list_and_comes_back(
    client: Any, session: Session, report: SeasonReport
) -> None:
    own = f"/season-reports/{report.id}"
    assert own in client.get("/season-reports").text
    assert client.submit(f"{own}/aside", page=own).status_code == 303
    assert f'href="{own}"' not in client.get("/season-reports").text
    client.submit(f"{own}/aside", page=own)
    assert own in client.get("/season-reports").text
    assert client.get("/season-reports/list.csv").text.count("2025/26") == 1


def test_a_season_that_has_not_begun_is_refused_with_a_remedy(client: Any, session: Session) -> None:
    refused = client.submit("/season-reports/new", {"season": "2031", "language": "en"})
    assert refused.status_code == 422
    assert "2031/32 has not begun. Choose one that has." in refused.text
    refused = client.submit("/season-reports/new", {"season": "2025", "language": "xx"})
    assert refused.status_code == 422
    assert session.scalar(select(func.count()).select_from(SeasonReport)) == 0


def test_a_report_that_is_not_there_is_told(client: Any) -> None:
    for address in ("/season-reports/99", "/season-reports/99.pdf", "/season-reports/99/check"):
        assert client.get(address).status_code == 404
    answer = client.get("/season-reports/making/nothing")
    assert (answer.status_code, answer.location) == (303, "/season-reports")


def test_a_season_without_records_can_be_reported_on_too(client: Any, session: Session) -> None:
    make(client, season=2019)
    row = session.scalars(select(SeasonReport)).one()
    html = client.get(f"/season-reports/{row.id}").text
    assert "No target and no planting of this season is on record." in html


def test_a_fault_in_the_making_keeps_nothing_and_says_so(client: Any, session: Session) -> None:
    session.connection().exec_driver_sql("DROP TABLE survey_counts")
    session.commit()
    told = make(client)
    assert "nothing was kept. Make it again." in told.text
    assert session.scalar(select(func.count()).select_from(SeasonReport)) == 0
