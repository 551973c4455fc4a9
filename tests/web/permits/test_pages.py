"""The pages of permits: written down as people type them, line by line, with what is left shown."""

from __future__ import annotations

import datetime as dt
import io
import json
import re
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Attachment, Lot, Permit, PermitLine
from nursery.models.movements import Measure
from nursery.services.ledger import recount_lot

TYPED = {
    "number": "COL 2026/1", "authority": "River Council", "holder": "Vale nursery", "valid_from": "2026-01-01",
    "valid_to": "2026-12-31", "notice_days": "", "report_days": "30", "conditions": "On foot",
}  # fmt: skip
OUTLINE = {"type": "Polygon", "coordinates": [[[-8.0, 40.0], [-7.0, 40.0], [-7.0, 41.0], [-8.0, 40.0]]]}


def fresh(session: Session) -> Session:
    session.rollback()  # to see what the pages have committed
    return session


def written(client: Any, **line: str) -> Any:
    client.submit("/permits/new", TYPED)
    return client.submit("/permits/1/lines/new", {"species_id": "sobreiro", "area_kind": "anywhere", **line})


def errors(html: str) -> dict[str, str]:
    return {
        name: text.replace("&#39;", "'")
        for name, text in re.findall(r'id="(\w+)-error">.*?<span>(.*?)</span>', html, re.DOTALL)
    }


def test_a_permit_is_written_down_with_its_species(client: Any, session: Session) -> None:
    answer = written(client, cap="2,5", unit="kg")

    assert (answer.status_code, answer.location) == (303, "/permits/1")
    permit = fresh(session).scalars(select(Permit)).one()
    assert (permit.number, permit.notice_days, permit.report_days) == ("COL 2026/1", 0, 30)
    assert [(line.species.scientific_name, line.cap_mg, line.places) for line in permit.lines] == [
        ("Quercus suber", 2_500_000, "")
    ]
    page = client.get("/permits/1").text
    assert "2.5 kg left" in page
    assert "Species changed" in page


def test_a_day_typed_with_numbers_is_told_with_the_name_of_its_month(client: Any, session: Session) -> None:
    answer = client.submit("/permits/new", {**TYPED, "valid_from": "05/11/2026"}, follow_redirects=True)

    assert "Valid from: “05/11/2026” was understood as 5 Nov 2026." in answer.text
    assert "Valid until: “" not in answer.text
    assert fresh(session).scalars(select(Permit)).one().valid_from == dt.date(2026, 11, 5)


def test_named_places_are_kept_and_unknown_ones_told(client: Any, session: Session, maker: Any) -> None:
    maker.population(region_code="RP-3", basin="Ribeira Clara")
    session.commit()
    client.submit("/permits/new", TYPED)

    answer = client.submit(
        "/permits/1/lines/new",
        {"species_id": "Quercus suber", "area_kind": "places", "places": "RP-3 ; Ribeira Clarra\nVale"},
        follow_redirects=True,
    )

    assert fresh(session).scalars(select(PermitLine.places)).one() == "RP-3; Ribeira Clarra; Vale"
    assert (
        "“Ribeira Clarra” is no basin, region or population on record. Did you mean Ribeira Clara?" in answer.text
    )
    assert "“Vale” is no basin, region or population on record yet." in answer.text


def test_an_outline_is_pasted_or_sent_as_a_file(client: Any, session: Session) -> None:
    written(client, area_kind="polygon", polygon=json.dumps(OUTLINE))
    file = (io.BytesIO(json.dumps({"type": "Feature", "geometry": OUTLINE}).encode()), "area.geojson")
    client.submit(
        "/permits/1/lines/1",
        {"species_id": "Quercus ilex", "area_kind": "polygon", "polygon": "", "file": file},
        content_type="multipart/form-data",
    )

    line = fresh(session).scalars(select(PermitLine)).one()
    assert (line.species.scientific_name, line.polygon) == ("Quercus ilex", OUTLINE)


def test_what_a_line_lacks_is_told_at_its_field_and_the_typing_kept(client: Any, session: Session) -> None:
    answer = written(client, cap="-1", unit="g")
    assert (answer.status_code, list(errors(answer.text))) == (422, ["cap"])

    outline = '{"type": "Point"}'
    answer = client.submit(
        "/permits/1/lines/new", {"species_id": "sobreiro", "cap": "7", "area_kind": "polygon", "polygon": outline}
    )
    assert errors(answer.text) == {"polygon": "A Point has no inside. Draw the outline of the area as a polygon."}
    assert "&#34;Point&#34;" in answer.text

    answer = client.submit("/permits/1/lines/new", {"species_id": "sobreiro", "area_kind": "places"})
    assert errors(answer.text) == {"places": "Name at least one place, or choose another kind of area."}
    assert fresh(session).scalars(select(PermitLine)).all() == []


@pytest.mark.parametrize(
    ("cap", "unit", "refusal"),
    [
        ("1e308", "kg", "A number of 309 digits is out of range. Give a number from 0 to 1,000."),
        ("1e308", "g", "A number of 309 digits is out of range. Give a number from 0 to 1,000,000."),
        ("1e308", "pieces", "A number of 309 digits is out of range. Give a number from 1 to 100,000,000."),
        ("1001", "kg", "1,001 is out of range. Give a number from 0 to 1,000."),
        ("0", "kg", "A cap must be above zero. To leave the species out, remove its line."),
    ],
)
def test_a_cap_beyond_reason_is_refused_in_its_unit(client: Any, cap: str, unit: str, refusal: str) -> None:
    answer = written(client, cap=cap, unit=unit)

    assert (answer.status_code, errors(answer.text)) == (422, {"cap": refusal})


def test_a_line_is_taken_out_and_told_in_the_history(client: Any, session: Session) -> None:
    written(client, cap="900", unit="g")

    client.submit("/permits/1/lines/1/remove", page="/permits/1/lines/1")

    assert fresh(session).scalars(select(PermitLine)).all() == []
    assert "Quercus suber, 900 g, anywhere → nothing" in client.get("/permits/1").text


def test_a_new_lot_is_answered_held_and_released(client: Any, session: Session, maker: Any) -> None:
    maker.population(code="P-001")
    session.commit()
    written(client, cap="1", unit="kg")
    lot = {
        "population_id": "P-001", "collected_on": "2026-10-20", "amount": "800", "unit": "g", "material": "seed",
        "storage_place_id": "",
    }  # fmt: skip

    first = client.submit("/lots/new", lot, follow_redirects=True).text
    second = client.submit("/lots/new", {**lot, "permit_number": "COL 2026/1"}, follow_redirects=True).text

    assert (
        "Covered by permit COL 2026/1. With this lot 800 g are collected of the 1 kg allowed; 200 g are left."
        in first
    )
    assert (
        "Permit COL 2026/1 does not cover this lot. With this lot 1.6 kg are collected of the 1 kg allowed"
        in second
    )
    assert "On hold" in second
    assert client.get("/lots?hold=True").text.count('<th scope="row">') == 1

    empty = client.submit("/lots/2/release", {"reason": " "}, page="/lots/2", follow_redirects=True).text
    assert "Say why the lot may be sown although no permit covers it." in empty
    done = client.submit("/lots/2/release", {"reason": "Letter"}, page="/lots/2", follow_redirects=True).text
    assert "Released by Ana Seabra" in done
    assert [lot.is_held for lot in fresh(session).scalars(select(Lot).order_by(Lot.id))] == [False, False]

    client.submit("/lots/2/hold", {"reason": "Mould"}, page="/lots/2")
    assert "Mould" in client.get("/lots/2").text
    client.submit("/lots/1/report", {"reported_on": "2026-11-01"}, page="/lots/1")
    assert fresh(session).get_one(Lot, 1).reported_on == dt.date(2026, 11, 1)


def test_the_page_tells_what_uncovered_lots_and_recounts_use_of_the_cap(
    client: Any, session: Session, maker: Any
) -> None:
    maker.population(code="P-001")
    session.commit()
    written(client, cap="10", unit="kg")
    lot = {"population_id": "P-001", "collected_on": "2026-10-20", "amount": "2", "unit": "kg", "material": "seed",
           "storage_place_id": "", "permit_number": "COL 2026/1"}  # fmt: skip
    client.submit("/lots/new", lot)
    client.submit("/lots/new", {**lot, "collected_on": "2025-10-20"})
    assert "found at recount</span>" not in client.get("/permits/1").text

    first = fresh(session).get_one(Lot, 1)
    recount_lot(
        session, "Ana", lot=first, measure=Measure.SEED, counted=2_345_678, reason="Weighed",
        happened_on=dt.date(2026, 11, 1), today=dt.date(2026, 11, 25),
    )  # fmt: skip
    session.commit()
    page = " ".join(re.sub(r"<[^>]+>", " ", client.get("/permits/1").text).split())

    assert "4.35 kg 2 kg of it not covered" in page
    assert (
        "Quercus suber: 1 lot with 2 kg names this permit, which does not cover it. It was collected all the same,"
        " so it uses up the cap: 5.65 kg are left; without it 7.65 kg would be."
    ) in page
    assert "2.35 kg 346 g of it found at recount" in page


def test_a_lot_held_before_its_permit_came_is_checked_again(client: Any, session: Session, maker: Any) -> None:
    maker.population(code="P-001")
    session.commit()
    client.submit("/permits/new", TYPED)
    lot = {"population_id": "P-001", "collected_on": "2026-10-20", "amount": "8", "unit": "g", "material": "seed",
           "storage_place_id": ""}  # fmt: skip
    assert (
        "No permit on record names Quercus suber." in client.submit("/lots/new", lot, follow_redirects=True).text
    )
    client.submit("/permits/1/lines/new", {"species_id": "sobreiro", "area_kind": "anywhere"})

    assert "Check again" in client.get("/lots/1").text
    answer = client.submit("/lots/1/check", page="/lots/1", follow_redirects=True).text

    assert "Covered by permit COL 2026/1. The permit sets no cap." in answer
    assert fresh(session).get_one(Lot, 1).is_held is False


def test_a_file_is_attached_fetched_and_put_aside(client: Any, session: Session) -> None:
    client.submit("/permits/new", TYPED)
    page = "/attachments/new/permits/1"

    def send(content: bytes, name: str) -> Any:
        data = {"kind": "document", "title": "", "file": (io.BytesIO(content), name)}
        return client.submit(page, data, content_type="multipart/form-data")

    refused = send(b"<html><script>alert(1)</script>", "permit.pdf")
    assert (refused.status_code, errors(refused.text)) == (
        422,
        {"file": "Only PDF, PNG, JPEG and WebP files are kept, and this is none of them."},
    )
    assert errors(client.submit(page, {"kind": "document"}).text) == {"file": "Choose a file."}
    assert send(b"%PDF-1.4 example", "../Scan.PDF").location == "/permits/1"

    fetched = client.get("/attachments/1")
    assert fetched.data == b"%PDF-1.4 example"
    assert (fetched.content_type, fetched.headers["X-Content-Type-Options"]) == ("application/pdf", "nosniff")
    assert fetched.headers["Content-Disposition"] == "attachment; filename=Scan.pdf"
    assert "Scan.pdf" in client.get("/permits/1").text

    client.submit("/attachments/1/archive", page="/permits/1")
    assert 'href="/attachments/1"' not in client.get("/permits/1").text
    assert fresh(session).get_one(Attachment, 1).archived_at is not None


def test_the_notice_is_ticked_off(client: Any, session: Session, maker: Any) -> None:
    maker.trip(code="T-9", collected_on=dt.date(2026, 12, 1))
    maker.trip(code="T-10", collected_on=dt.date(2026, 12, 1))
    session.commit()
    client.submit("/permits/new", {**TYPED, "notice_days": "7"})
    assert '<input type="hidden" name="mark" value="1:trip 2">' in client.get("/permits/1").text
    assert "Tell River Council of trip T-9" in client.get("/permits/1").text

    client.submit("/permits/1/notice", {"mark": ["1:trip 1", "1:trip 2"]}, page="/permits/1")

    assert "Tell River Council of trip T-9" not in client.get("/permits/1").text
    assert "Tell River Council of trip T-10" not in client.get("/permits/1").text


def test_a_notice_noted_on_the_page_of_a_permit_leads_back_to_it(
    client: Any, session: Session, maker: Any
) -> None:
    maker.trip(code="T-9", collected_on=dt.date(2026, 12, 1))
    session.commit()
    for number in ("COL 2026/1", "COL 2026/2"):
        client.submit("/permits/new", {**TYPED, "number": number, "notice_days": "7"})
    page = client.get("/permits/2").text
    marks = re.findall(r'name="mark" value="([^"]+)"', page)

    answer = client.submit("/permits/2/notice", {"mark": marks}, page="/permits/2")

    assert 'action="/permits/2/notice"' in page
    assert (answer.status_code, answer.headers["Location"]) == (303, "/permits/2")
