"""How a new lot came: the first entry of its ledger, and whether a permit is asked for it."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, Movement
from tests.services.permits.permit_maker import make_permit

TYPED = {
    "population_id": "P-001", "collected_on": "2026-10-20", "material": "seed", "amount": "500", "unit": "g",
    "storage_place_id": "",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _a_population(session: Session, maker: Any) -> None:
    maker.population()
    make_permit(session)  # it covers nothing, so that a lot that is checked is held
    session.commit()


def lot(session: Session) -> Lot:
    session.rollback()  # to see what the pages have committed
    return session.scalars(select(Lot)).one()


def first(session: Session) -> tuple[str, dt.date, str]:
    row = session.scalars(select(Movement)).one()
    return row.kind.value, row.happened_on, row.reason


@pytest.mark.parametrize(
    ("came", "written", "held"),
    [
        ({}, ("collected", dt.date(2026, 10, 20), ""), True),
        ({"came": "collected"}, ("collected", dt.date(2026, 10, 20), ""), True),
        ({"came": "in-store"}, ("opening", dt.date(2026, 11, 25), ""), True),
        ({"came": "received"}, ("opening", dt.date(2026, 11, 25), "Received from somebody else"), False),
    ],
)
def test_the_first_entry_follows_from_how_the_lot_came(
    client: Any, session: Session, came: dict[str, str], written: tuple[Any, ...], held: bool
) -> None:
    answer = client.submit("/lots/new", {**TYPED, **came})

    row = lot(session)
    assert (answer.status_code, first(session)) == (303, written)
    assert (row.is_held, row.is_received) == (held, came == {"came": "received"})


def test_the_form_asks_with_the_usual_way_chosen(client: Any) -> None:
    page = client.get("/lots/new").text

    ways = re.findall(r'<input[^>]*name="came"[^>]*>', page)
    assert [re.findall(r'value="([^"]+)"', way)[0] for way in ways] == ["collected", "in-store", "received"]
    assert ["checked" in way for way in ways] == [True, False, False]


def test_another_way_is_refused_in_words(client: Any) -> None:
    answer = client.submit("/lots/new", {**TYPED, "came": "by-air"})

    assert answer.status_code == 422
    assert "Choose one of: Collected by us: the amount is what came home" in answer.text


def test_the_page_of_received_seed_names_the_suppliers_document_and_asks_no_permit(
    client: Any, session: Session
) -> None:
    typed = {**TYPED, "came": "received", "supplier_document": "SD 12/2026", "certificate_number": "PT-77"}

    page = client.submit("/lots/new", typed, follow_redirects=True).text

    assert "Nothing was checked: the lot was received from somebody else." in page
    assert "Supplier’s document: SD 12/2026." in page
    assert "PT-77" in page


def edited(row: Lot, **changes: str) -> dict[str, str]:
    return {
        "version": str(row.version), "population_id": "P-001", "collected_on": "2026-10-20",
        "ripening_year": "2026", "material": "seed", "code": row.code, "storage_place_id": "", **changes,
    }  # fmt: skip


def test_a_lot_that_turns_out_to_be_own_is_checked_after_all(client: Any, session: Session) -> None:
    client.submit("/lots/new", {**TYPED, "came": "received"})
    row = lot(session)

    answer = client.submit(f"/lots/{row.id}/edit", edited(row))

    assert answer.status_code == 303
    assert (lot(session).is_received, lot(session).is_held) == (False, True)


def test_seed_that_turns_out_to_be_received_takes_nothing_from_a_permit(client: Any, session: Session) -> None:
    client.submit("/lots/new", {**TYPED, "permit_number": "COL 2026/1"})
    row = lot(session)
    assert row.permit_id is not None

    client.submit(f"/lots/{row.id}/edit", edited(row, is_received="y"))

    assert (lot(session).is_received, lot(session).permit_id) == (True, None)


@pytest.mark.parametrize(
    ("day", "message"),
    [
        ("2026-11-26", "The day lies in the future. Write it down once the lot has been moved."),
        (
            "2026-10-19",
            "The lot was collected on 20 Oct 2026 and cannot have been kept there before. Correct the day.",
        ),
    ],
)
def test_a_day_of_storage_that_cannot_be_is_refused(client: Any, day: str, message: str) -> None:
    answer = client.submit("/lots/new", {**TYPED, "stored_on": day})

    found = dict(re.findall(r'id="(\w+)-error">.*?<span>(.*?)</span>', answer.text, re.DOTALL))
    assert (answer.status_code, found) == (422, {"stored_on": message})
