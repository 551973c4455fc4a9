"""The pages of lots: amounts as weighed, fractions as typed, codes that check, and what a lot is worth."""

from __future__ import annotations

import datetime as dt
import io
import re
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Lot
from nursery.models.types import utc_now

TYPED = {
    "population_id": "P-001",
    "trip_id": "",
    "collected_on": "2026-10-20",
    "ripening_year": "",
    "material": "seed",
    "amount": "1,25",
    "unit": "kg",
    "storage_place_id": "",
    "purity": "95 %",
    "germination": "85",
    "tested_on": "2026-11-01",
    "moisture_pct": "38",
    "tsw_g": "2120",
    "permit_number": "17/2026",
}


@pytest.fixture(autouse=True)
def _a_population(session: Session, maker: Any) -> None:
    maker.population(name="Azenha")
    session.commit()


def lot(session: Session) -> Lot:
    session.rollback()  # to see what the pages have committed
    return session.scalars(select(Lot)).one()


def refused(client: Any, session: Session, **changes: str) -> dict[str, str]:
    answer = client.submit("/lots/new", {**TYPED, **changes})
    assert answer.status_code == 422
    assert session.scalar(select(func.count(Lot.id))) == 0
    return dict(re.findall(r'id="(\w+)-error">.*?<span>(.*?)</span>', answer.text, re.DOTALL))


def test_a_lot_is_written_down_as_typed_by_people(client: Any, session: Session) -> None:
    answer = client.submit("/lots/new", TYPED)

    row = lot(session)
    assert (answer.status_code, row.code) == (303, "QUUE-4223-R")
    assert (row.amount_mg, row.pieces, row.ripening_year) == (1_250_000, None, 2026)
    assert (row.purity, row.germination, row.moisture_pct, row.tsw_g) == (0.95, 0.85, 38, 2120)
    assert (row.collected_on, row.tested_on) == (dt.date(2026, 10, 20), dt.date(2026, 11, 1))


def test_what_was_understood_is_told_where_the_percent_sign_was_left_out(client: Any) -> None:
    page = client.submit("/lots/new", TYPED, follow_redirects=True).text

    assert "Germination: “85” was understood as 85 %." in page
    assert "Moisture content: “38” was understood as 38 %." in page
    assert "Purity: “" not in page


@pytest.mark.parametrize(
    ("typed", "stored"),
    [("0.85", 0.85), ("0,85", 0.85), ("85", 0.85), ("85 %", 0.85), ("85%", 0.85), ("1", 1.0), ("0", 0.0)],
)
def test_a_germination_may_be_typed_in_any_way(client: Any, session: Session, typed: str, stored: float) -> None:
    client.submit("/lots/new", {**TYPED, "germination": typed})

    assert lot(session).germination == stored


@pytest.mark.parametrize(
    ("amount", "unit", "stored"),
    [
        ("0,5", "g", (500, None)),
        ("1 250.5", "g", (1_250_500, None)),
        ("1000", "kg", (10**9, None)),
        ("200", "pieces", (None, 200)),
    ],
)
def test_amounts_are_weighed_or_counted(
    client: Any, session: Session, amount: str, unit: str, stored: tuple[int | None, int | None]
) -> None:
    client.submit("/lots/new", {**TYPED, "amount": amount, "unit": unit})

    assert (lot(session).amount_mg, lot(session).pieces) == stored


@pytest.mark.parametrize(
    ("field", "changes", "message"),
    [
        ("amount", {"amount": ""}, "Amount must be filled in."),
        ("amount", {"amount": "1001"}, "1,001 is out of range. Give a number from 0 to 1,000."),
        ("amount", {"amount": "-1"}, "-1 is out of range. Give a number from 0 to 1,000."),
        (
            "amount",
            {"amount": "2,5", "unit": "pieces"},
            "Pieces are whole. Leave the decimals out, or choose a weight.",
        ),
        ("amount", {"material": "cuttings"}, "Cuttings are counted. Give the amount in pieces."),
        ("unit", {"unit": "stone"}, "Choose one of: g, kg, pieces."),
        ("tsw_g", {"tsw_g": "200000"}, "200,000 is out of range. Give a number above 0, up to 100,000."),
        (
            "germination",
            {"germination": "140"},
            "“140” is not a fraction. Write 0.85 or 85 %; it lies between 0 and 100 %.",
        ),
        (
            "collected_on",
            {"collected_on": "2026-11-26", "tested_on": ""},
            "The lot would be collected in the future. Correct the date.",
        ),
        (
            "tested_on",
            {"tested_on": "2026-10-01"},
            "The test would be before the collection on 20 Oct 2026. Correct one of the dates.",
        ),
        ("collected_on", {"collected_on": ""}, "Give the day of collection, or the trip."),
        (
            "collected_on",
            {"collected_on": "yesterday"},
            "“yesterday” is not a date. Write year, month and day, such as 2027-11-15.",
        ),
        ("population_id", {"population_id": "P-100"}, "There is no “P-100”. Did you mean P-001?"),
        (
            "trip_id",
            {"trip_id": "outing"},
            "There is no “outing”. Type a code from its list, or write the record down there first.",
        ),
        ("storage_place_id", {"storage_place_id": "99"}, "This choice is no longer in the list. Choose again."),
    ],
)
def test_what_cannot_be_is_refused_with_the_remedy(
    client: Any, session: Session, field: str, changes: dict[str, str], message: str
) -> None:
    assert refused(client, session, **changes) == {field: message}


def test_a_code_with_a_wrong_check_character_is_refused(client: Any, session: Session) -> None:
    assert refused(client, session, code="QUUE-4223-X") == {
        "code": "The check character of “QUUE-4223-X” does not fit, so one character is wrong or two are swapped."
        " Look at the label again, or leave the code empty to get a new one."
    }


def test_a_population_may_be_named_instead_of_coded_unless_two_have_the_name(
    client: Any, session: Session, maker: Any
) -> None:
    client.submit("/lots/new", {**TYPED, "population_id": "azenha"})
    assert lot(session).population.code == "P-001"
    maker.population(code="P-050", name="Azenha")
    session.commit()

    answer = client.submit("/lots/new", {**TYPED, "population_id": "azenha"})

    assert "“azenha” names several records: P-001, P-050. Type one code." in answer.text


def test_an_archived_population_takes_no_new_lots(client: Any, session: Session, maker: Any) -> None:
    maker.population(code="P-050", archived_at=utc_now())
    session.commit()

    assert refused(client, session, population_id="P-050") == {
        "population_id": "“P-050” is archived. Bring it back first, or name another."
    }


@pytest.mark.parametrize("language", ["en", "pt"])
@pytest.mark.parametrize(
    "values", [{"amount_mg": 1_250_500}, {"amount_mg": 2_500_000_000 // 1000}, {"pieces": 340}]
)
def test_the_edit_form_gives_back_what_is_stored(
    client: Any, session: Session, maker: Any, values: dict[str, Any], language: str
) -> None:
    client.set_cookie("language", language)
    made = maker.lot(population=None, germination=0.855, purity=0.98765, moisture_pct=8.5, tsw_g=1.234, **values)
    session.commit()
    page = client.get(f"/lots/{made.id}/edit").text
    shown = dict(re.findall(r'<input[^>]*name="(\w+)"[^>]*value="([^"]*)"', page))
    chosen = re.findall(r'<select[^>]*name="(\w+)">.*?value="([^"]*)" selected', page, re.DOTALL)
    shown |= dict(chosen)

    answer = client.submit(f"/lots/{made.id}/edit", shown)

    assert (answer.status_code, lot(session).version) == (303, 1)


def test_a_change_of_amount_reads_in_grams_in_the_history(client: Any) -> None:
    client.submit("/lots/new", TYPED)
    client.submit("/lots/1/ledger/recount", {"amount": "900", "unit": "g", "happened_on": "2026-11-25"})

    assert "Amount: 1,250 g → 900 g" in client.get("/lots/1").text


@pytest.mark.parametrize(("typed", "shown"), [("120", "120"), ("120 %", "120"), ("100", "100"), ("-3", "-3")])
def test_a_moisture_beyond_its_bounds_is_refused_with_its_own_remedy(client: Any, typed: str, shown: str) -> None:
    answer = client.submit("/lots/new", {**TYPED, "moisture_pct": typed})

    told = f"{shown} is out of range. Give a number above 0 and below 100."
    refused = dict(re.findall(r'id="(\w+)-error">.*?<span>(.*?)</span>', answer.text, re.DOTALL))
    assert (answer.status_code, refused) == (422, {"moisture_pct": told})


def test_a_file_has_its_name_in_the_history(client: Any) -> None:
    client.submit("/lots/new", TYPED)
    data = {"kind": "document", "title": "", "file": (io.BytesIO(b"%PDF-1.4 example"), "Scan.pdf")}
    client.submit("/attachments/new/lots/1", data, content_type="multipart/form-data")

    page = " ".join(re.sub("<[^>]*>", " ", client.get("/lots/1").text).split())
    assert "File: nothing → Scan.pdf" in page
    assert "file_name" not in page


def test_the_page_of_a_lot_says_what_it_is_worth_and_where_it_comes_from(client: Any) -> None:
    client.submit("/lots/new", TYPED)

    page = client.get("/lots/1").text

    # 0.95 × 0.85, and 1,000,000 ÷ 2,120 × that, both worked by hand.
    assert re.search(r"<summary>80\.8 %</summary>", page)
    assert re.search(r"<summary>381</summary>", page)
    assert "own test of this lot" in page
    assert "Recalcitrant: dies when dried, cannot be kept" in page
    assert 'href="/populations/1"' in page
    assert "17/2026" in page
    assert "tested on 1 Nov 2026" in page


def test_a_page_of_a_lot_costs_the_same_for_any_history(
    app: Any, client: Any, session: Session, count_queries: Any
) -> None:
    client.submit("/lots/new", TYPED)
    engine = app.extensions["nursery_sessions"].kw["bind"]
    with count_queries(engine) as few:
        client.get("/lots/1")
    for version, purity in enumerate(("94 %", "93 %", "92 %"), start=1):
        changed = client.submit("/lots/1/edit", {**TYPED, "purity": purity, "version": str(version)})
        assert changed.status_code == 303

    with count_queries(engine) as many:
        client.get("/lots/1")

    assert len(many) == len(few)
