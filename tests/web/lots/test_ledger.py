"""The ledger's forms: what is typed, what is refused, what the page of the lot then says."""

from __future__ import annotations

import re
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, Movement
from nursery.models.lots import Material
from tests.services.permits.permit_maker import make_permit

DAY = "2026-11-20"


@pytest.fixture
def lot(session: Session, maker: Any) -> Lot:
    made: Lot = maker.lot(code="L/1", fruit_mg=20_000_000)
    session.commit()
    return made


def newest(session: Session) -> tuple[str, str, int]:
    session.rollback()
    row = session.scalars(select(Movement).order_by(Movement.id.desc())).first()
    assert row is not None
    return row.kind.value, row.measure.value, row.change


@pytest.mark.parametrize(
    ("name", "typed", "written"),
    [
        ("clean", {"amount": "480", "unit": "g"}, ("cleaned", "seed", -20_000)),
        ("sample", {"amount": "12,5", "unit": "g"}, ("sampled", "seed", -12_500)),
        ("sow", {"amount": "0.25", "unit": "kg"}, ("withdrawn", "seed", -250_000)),
        ("give", {"what": "fruit", "amount": "2", "unit": "kg", "reason": "a"}, ("given", "fruit", -2_000_000)),
        ("discard", {"what": "seed", "amount": "5", "unit": "g", "reason": "old"}, ("discarded", "seed", -5_000)),
        ("recount", {"what": "seed", "amount": "510", "unit": "g"}, ("recounted", "seed", 10_000)),
        ("split", {"what": "fruit", "amount": "5", "unit": "kg"}, ("split", "fruit", 5_000_000)),
        ("extract", {"fruit": "10", "amount": "1,5", "unit": "kg"}, ("extracted", "seed", 1_500_000)),
    ],
)  # fmt: skip
def test_each_act_writes_its_movement(
    client: Any, session: Session, lot: Lot, name: str, typed: dict[str, str], written: tuple[str, str, int]
) -> None:
    answer = client.submit(f"/lots/{lot.id}/ledger/{name}", {"happened_on": DAY, "storage_place_id": "", **typed})

    assert (answer.status_code, newest(session)) == (303, written)


def test_the_yield_of_an_extraction_is_told_and_shown(client: Any, lot: Lot) -> None:
    typed = {"fruit": "10", "amount": "1,5", "unit": "kg", "happened_on": DAY}
    page = client.submit(f"/lots/{lot.id}/ledger/extract", typed, follow_redirects=True).text

    assert "10 kg of fruit gave 1.5 kg. That is an extraction yield of 15 %." in page
    assert "yield 15 %" in page
    assert "The lot holds 2 kg and 10 kg of fruit." in page


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({"amount": "501"}, "amount", "L/1 holds 500 g; 501 g cannot leave it."),
        ({"amount": "0"}, "amount", "Give an amount above zero."),
        ({"amount": ""}, "amount", "Amount must be filled in."),
        ({"amount": "5", "unit": "pieces"}, "amount", "This is weighed. Choose g or kg."),
        ({"amount": "5", "happened_on": "2026-11-26"}, "happened_on", "The day lies in the future."),
    ],
)
def test_a_refusal_keeps_what_was_typed(
    client: Any, session: Session, lot: Lot, typed: dict[str, str], field: str, message: str
) -> None:
    sent = {"happened_on": DAY, "unit": "g", "reason": "Bench 4", **typed}
    answer = client.submit(f"/lots/{lot.id}/ledger/sow", sent)

    assert answer.status_code == 422
    refused = dict(re.findall(r'id="(\w+)-error">.*?<span>(.*?)</span>', answer.text, re.DOTALL))
    assert list(refused) == [field]
    assert refused[field].startswith(message)
    assert 'value="Bench 4"' in answer.text
    assert newest(session) == ("collected", "seed", 500_000)


def test_a_counted_lot_is_counted_in_pieces(client: Any, session: Session, maker: Any) -> None:
    cuttings = maker.lot(pieces=40, material=Material.CUTTINGS)
    session.commit()

    half = client.submit(f"/lots/{cuttings.id}/ledger/sow", {"amount": "2,5", "happened_on": DAY})
    whole = client.submit(f"/lots/{cuttings.id}/ledger/sow", {"amount": "12", "happened_on": DAY})

    assert "Pieces are whole. Leave the decimals out." in half.text
    assert (half.status_code, whole.status_code, newest(session)) == (422, 303, ("withdrawn", "pieces", -12))


def test_an_act_that_does_not_fit_leads_back_to_the_lot(client: Any, session: Session, maker: Any) -> None:
    cuttings = maker.lot(pieces=40, material=Material.CUTTINGS)
    session.commit()

    answer = client.get(f"/lots/{cuttings.id}/ledger/clean")

    assert (answer.status_code, answer.location) == (303, f"/lots/{cuttings.id}")
    assert client.get(f"/lots/{cuttings.id}/ledger/juggle").status_code == 404
    assert client.get("/lots/99/ledger/sow").status_code == 404
    assert client.get(f"/lots/{cuttings.id}/take-back/none").status_code == 404


def test_a_new_lot_may_be_all_fruit_and_the_edit_form_leads_to_the_recount(
    client: Any, session: Session, maker: Any
) -> None:
    maker.population(code="P-900")
    session.commit()
    typed = {"population_id": "P-900", "collected_on": "2026-10-20", "material": "seed", "unit": "g",
             "fruit": "12,5", "amount": "", "storage_place_id": ""}  # fmt: skip

    answer = client.submit("/lots/new", typed)
    page = client.get(f"{answer.location}/edit").text

    assert (answer.status_code, newest(session)) == (303, ("collected", "fruit", 12_500_000))
    assert "By its ledger the lot holds 12.5 kg of fruit." in page
    assert f'href="{answer.location}/ledger/recount"' in page
    assert re.findall(r'name="(amount|unit|fruit)"', page) == []


def test_the_whole_ledger_is_a_file(client: Any, lot: Lot) -> None:
    client.submit(
        f"/lots/{lot.id}/ledger/sow", {"amount": "20", "unit": "g", "happened_on": DAY, "reason": "Bench 4"}
    )

    lines = client.get(f"/lots/{lot.id}/ledger.csv").text.splitlines()

    assert lines[0].lstrip("\ufeff") == "Day,What,Of what,Change,Balance,Unit,Other lot,Person,Reason,Taken back"
    assert lines[1] == "2026-11-20,Withdrawn for sowing,clean seed,-20.0,480.0,g,,Ana Seabra,Bench 4,"
    assert len(lines) == 4


def test_the_ledger_of_a_page_costs_one_query_however_long(
    app: Any, client: Any, lot: Lot, count_queries: Any
) -> None:
    for amount in ("1", "2", "3", "4"):
        client.submit(f"/lots/{lot.id}/ledger/sow", {"amount": amount, "unit": "g", "happened_on": DAY})

    with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as statements:
        client.get(f"/lots/{lot.id}")

    assert sum("OVER (PARTITION BY" in statement for statement in statements) == 1
    assert sum("FROM movements" in statement for statement in statements) <= 2


def test_a_part_of_a_lot_is_neither_unchecked_nor_reported_twice(client: Any, session: Session, lot: Lot) -> None:
    permit = make_permit(session, report_days=30)
    lot.permit_id, lot.permit_number = permit.id, permit.number
    session.commit()

    split = client.submit(f"/lots/{lot.id}/ledger/split", {"what": "seed", "amount": "5", "unit": "g",
                                                           "happened_on": DAY})  # fmt: skip
    page = client.get(split.location).text

    assert split.status_code == 303
    assert "or the lot was made from other lots that were checked." in page
    assert "is named, but no permit is written down" not in page
    assert "Report the quantity" not in page
