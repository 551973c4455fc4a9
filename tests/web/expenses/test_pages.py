"""The pages of expenses."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Expense

TYPED = {"what": "Fuel", "spent_on": "2026-11-20", "amount": "1 234,50", "batch_id": "", "species_id": "",
         "funder": "River fund", "notes": ""}  # fmt: skip


def test_an_expense_is_written_down_listed_and_exported(client: Any, session: Session) -> None:
    page = client.submit("/expenses/new", TYPED, follow_redirects=True).text
    assert ("Fuel" in page, "€1,234.50" in page) == (True, True)
    assert client.get("/expenses.csv").text.splitlines()[1] == "Fuel,2026-11-20,1234.5,,,River fund,"


def test_an_expense_of_a_batch_of_another_species_is_refused(client: Any, session: Session, maker: Any) -> None:
    maker.species("quercus-ilex")
    maker.batch(code="B-77")
    session.commit()
    answer = client.submit("/expenses/new", {**TYPED, "batch_id": "B-77", "species_id": "Quercus ilex"})
    assert (answer.status_code, "B-77 is no batch of Quercus ilex." in answer.text) == (422, True)
    assert session.scalars(select(Expense)).all() == []


@pytest.mark.parametrize(("day", "told"), [("2026-12-24", "is still to come"), ("1926-11-24", "is too long ago")])
def test_money_of_tomorrow_or_of_another_century_is_not_spent(client: Any, day: str, told: str) -> None:
    answer = client.submit("/expenses/new", {**TYPED, "spent_on": day})
    assert (answer.status_code, told in answer.text) == (422, True)
