"""The page of the nursery's own defaults."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Preferences
from nursery.services.setup import set_up

TYPED = {
    "organisation": "Guadorva trust",
    "assurance": "90",
    "spare_trays": "1",
    "cost_seed": "0,03",
    "cost_thin": "0.02",
    "cost_cell": "0.15",
    "currency": "gbp",
    "wage_per_hour": "16,5",
    "volunteer_per_hour": "12",
    "overhead": "20 %",
    "records_years": "10",
}


def test_settings_are_changed_and_the_change_is_told(client: Any, session: Session) -> None:
    set_up(session, "Ana")
    session.commit()
    answer = client.submit("/settings", TYPED, follow_redirects=True)
    session.expire_all()
    row = session.scalars(select(Preferences)).one()
    assert (row.organisation, row.assurance, row.spare_trays, row.cost_seed) == ("Guadorva trust", 0.9, 1, 0.03)
    assert "Assurance: “90” was understood as 90 %." in answer.text
    assert "Assurance: 80 % → 90 %" in answer.text
    assert "quercus-suber" not in answer.text


def test_wages_overhead_and_currency_are_settings_too(client: Any, session: Session) -> None:
    set_up(session, "Ana")
    session.commit()
    answer = client.submit("/settings", TYPED, follow_redirects=True)
    session.expire_all()
    row = session.scalars(select(Preferences)).one()
    assert (row.currency, row.wage_per_hour, row.volunteer_per_hour, row.overhead) == ("GBP", 16.5, 12.0, 0.2)
    assert "Currency: EUR, Euro → GBP, British Pound" in answer.text


def test_what_is_no_currency_is_refused(client: Any) -> None:
    answer = client.submit("/settings", {**TYPED, "currency": "QQQ"})
    assert (answer.status_code, "“QQQ” is no currency." in answer.text) == (422, True)


def test_refused_settings_keep_the_typing_and_write_nothing(client: Any, session: Session) -> None:
    answer = client.submit("/settings", {**TYPED, "assurance": "100", "cost_seed": "cheap"})
    assert answer.status_code == 422
    assert ('value="100"' in answer.text, 'value="cheap"' in answer.text) == (True, True)
    assert "100 is out of range. Give a number above 0 and below 100." in answer.text
    assert session.scalars(select(Preferences.organisation)).all() == [""]


def test_what_papers_print_of_the_nursery_is_written_down_and_a_wrong_country_refused(
    client: Any, session: Session
) -> None:
    papers = {
        "address": "Mill Lane 1, Ajuvara", "country": "pt", "supplier_number": "S-7", "operator_number": "0042",
        "records_years": "12",
    }  # fmt: skip
    wrong = client.submit("/settings", {**TYPED, **papers, "country": "QQ", "records_years": "2"})
    client.submit("/settings", {**TYPED, **papers})
    session.expire_all()
    row = session.scalars(select(Preferences)).one()

    assert wrong.status_code == 422
    assert "“QQ” is no country." in wrong.text
    assert "2 is out of range. Give a number from 3 to 100." in wrong.text
    kept = (row.address, row.country, row.supplier_number, row.operator_number, row.records_years)
    assert kept == ("Mill Lane 1, Ajuvara", "PT", "S-7", "0042", 12)
