"""The log of deviations as pages, and suggestions that are written only by a click."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Deviation
from tests.services.season_report.conftest import Season, season

__all__ = ["season"]


def count(session: Session) -> int:
    """Deviations on record now, whatever the session saw before."""
    session.rollback()
    return session.scalar(select(func.count()).select_from(Deviation)) or 0


def test_a_deviation_is_written_down_and_listed(client: Any, session: Session, maker: Any) -> None:
    site = maker.site()
    session.commit()
    html = client.get("/deviations/new").text
    assert 'value="2025/26"' in html
    saved = client.submit(
        "/deviations/new",
        {
            "season": "2025/26", "happened_on": "2026-01-08", "site_id": site.code, "what": "A load froze",
            "why": "An open trailer", "action": "A tarpaulin was bought",
        },
    )  # fmt: skip
    row = session.scalars(select(Deviation)).one()
    assert saved.location == f"/deviations/{row.id}"
    assert (row.season, row.site_id, row.action) == (2025, site.id, "A tarpaulin was bought")
    assert "A load froze" in client.get("/deviations?season=2025").text
    assert "A load froze" not in client.get("/deviations?q=nothing").text
    assert "A tarpaulin was bought" in client.get("/deviations.csv").text


def test_what_is_missing_is_told_at_its_field(client: Any, session: Session) -> None:
    refused = client.submit("/deviations/new", {"season": "2025/26", "happened_on": "2026-01-08", "what": ""})
    assert refused.status_code == 422
    assert "What happened must be filled in." in refused.text
    assert count(session) == 0


def test_a_suggestion_fills_the_form_and_only_saving_writes_it(
    client: Any, session: Session, season: Season
) -> None:
    before = count(session)
    html = client.get("/deviations/suggested?season=2025").text
    assert "Quercus suber: 60 planted of 80 wanted (75 %)" in html
    address = next(
        unescape(one) for one in re.findall(r'href="(/deviations/new\?[^"]+)"', html) if "Quercus" in unescape(one)
    )
    form = client.get(address)
    assert "60 planted of 80 wanted" in form.text
    assert count(session) == before

    client.submit(
        "/deviations/new",
        {
            "season": "2025/26", "happened_on": "2026-06-30", "site_id": season.slope.code,
            "what": "Quercus suber: 60 planted of 80 wanted (75 %)", "action": "Asked of the next season",
        },
    )  # fmt: skip
    assert count(session) == before + 1
    told = client.get("/deviations/suggested?season=2025").text
    assert '<th scope="row">Quercus suber: 60 planted of 80' not in told


def test_nonsense_in_the_address_of_a_suggestion_does_no_harm(client: Any) -> None:
    odd = "/deviations/new?season=x&happened_on=y&site_id=-1"
    for address in (odd, "/deviations/suggested?season=99999999999"):
        assert client.get(address).status_code == 200
