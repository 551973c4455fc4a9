"""The logo of the reports, as its page keeps it and as a report carries it."""

from __future__ import annotations

import io
from typing import Any

from sqlalchemy.orm import Session

from nursery.services.logo import read_logo
from nursery.services.season_report import gather_figures, keep_report
from tests.services.test_logo import picture


def test_a_logo_is_kept_shown_and_taken_away(client: Any, session: Session) -> None:
    assert client.get("/settings/logo.png").location == "/settings/logo"
    kept = client.submit("/settings/logo", {"logo": (io.BytesIO(picture()), "our logo.png")})
    assert kept.status_code == 303
    assert "The logo was kept." in client.get("/settings/logo").text
    assert client.get("/settings/logo.png").data == read_logo(session)

    client.submit("/settings/logo/remove", page="/settings/logo")
    session.rollback()
    assert read_logo(session) is None


def test_what_is_no_picture_is_refused_in_words(client: Any, session: Session) -> None:
    refused = client.submit("/settings/logo", {"logo": (io.BytesIO(b"words"), "logo.png")})
    assert refused.status_code == 422
    assert "Choose a picture: PNG, JPEG or WebP." in refused.text
    assert client.submit("/settings/logo", {}).status_code == 422
    assert read_logo(session) is None


def test_a_report_carries_the_logo_on_page_and_paper(client: Any, session: Session, today: Any) -> None:
    client.submit("/settings/logo", {"logo": (io.BytesIO(picture()), "our logo.png")})
    figures = gather_figures(session, season=2025, today=today)
    row = keep_report(session, "Ana Seabra", figures=figures, language="en")
    session.commit()
    html = client.get(f"/season-reports/{row.id}").text
    assert f'src="/season-reports/{row.id}/logo.png"' in html
    assert client.get(f"/season-reports/{row.id}/logo.png").data == read_logo(session)
    assert b"/Width 720" in client.get(f"/season-reports/{row.id}.pdf").data
    assert "The three agree." in client.get(f"/season-reports/{row.id}/check").text
