"""Writing plantings down and correcting them."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Change, Dispatch, DispatchLine, Planting
from nursery.models.dispatches import DispatchStatus
from nursery.models.types import utc_now


@pytest.fixture
def lot(session: Session, maker: Any) -> Any:
    """A lot of region R1, and a site of region R2."""
    lot = maker.lot(code="Q/7", population=maker.population(region_code="R1"), collected_on=dt.date(2025, 10, 1))
    maker.site(code="S-007", name="Azenha", region_code="R2")
    session.commit()
    return lot


DAY = dt.date(2026, 11, 20)
TYPED = {"site_id": "S-007", "lot_id": "Q/7", "planted_on": "2026-11-20", "plants": "80", "notes": ""}


def test_a_planting_is_written_corrected_and_put_aside(client: Any, session: Session, lot: Any) -> None:
    answer = client.submit("/plantings/new", TYPED)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/plantings/1")
    page = client.get("/plantings/1").text
    assert "By its origin the lot should not stand at this site: Region of provenance" in page

    client.submit("/plantings/1/edit", {**TYPED, "plants": "85", "version": "1"})
    client.submit("/plantings/1/archive", page="/plantings/1")

    row = session.scalars(select(Planting)).one()
    assert (row.plants, row.archived_at is not None) == (85, True)
    acts = session.scalars(select(Change.action).where(Change.subject == "plantings").order_by(Change.id)).all()
    assert acts == ["created", "changed", "archived"]


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"planted_on": "2026-11-26"}, "is still to come. Write a planting down on its day or later."),
        (
            {"planted_on": "2025-09-30"},
            "is before lot Q/7 was collected, on 1 Oct 2025. Correct the day or the lot.",
        ),
        ({"plants": "2.5"}, "2.5 is not a whole number. Leave the decimals out."),
        ({"plants": "1,5e3"}, "“1,5e3” is not a number. Write digits, such as 1250 or 0.5."),
        ({"plants": "0"}, "0 is out of range. Give a number from 1 to 100,000,000."),
        ({"lot_id": "Q/8"}, "There is no “Q/8”. Did you mean Q/7?"),
    ],
)
def test_a_refusal_stands_at_its_field(client: Any, lot: Any, typed: dict[str, str], told: str) -> None:
    answer = client.submit("/plantings/new", {**TYPED, **typed})

    assert answer.status_code == 422
    field = next(iter(typed))
    assert told in answer.text[answer.text.index(f'id="{field}-error') :][:400]


def test_plantings_stand_on_the_pages_of_their_lot_and_site_and_in_a_file(client: Any, lot: Any) -> None:
    client.submit("/plantings/new?site=S-007&lot=Q/7", TYPED)

    for path in (f"/lots/{lot.id}", "/sites/1"):
        assert 'href="/plantings/1"' in client.get(path).text
    rows = list(csv.reader(io.StringIO(client.get("/plantings.csv").text.lstrip("\ufeff"))))
    assert rows[1][:6] == ["2026-11-20", "80", "Quercus suber", "Q/7", "Azenha", "S-007"]


def test_the_trace_of_a_site_is_a_file_too(client: Any, lot: Any) -> None:
    client.submit("/plantings/new", TYPED)

    rows = list(csv.reader(io.StringIO(client.get("/trace/sites/1.csv").text.lstrip("\ufeff"))))
    assert rows[1][:7] == ["Azenha", "planted", "collected lot", "1.0", "80.0", "", "Q/7"]
    rows = list(csv.reader(io.StringIO(client.get(f"/trace/lots/{lot.id}/onward.csv").text.lstrip("\ufeff"))))
    assert [row[0] for row in rows[1:]] == ["lot", "planted"]
    assert client.get("/trace/stands/1?tag=none").status_code == 404


def test_plants_of_a_batch_are_planted_and_what_it_did_not_dispatch_is_told(
    client: Any, session: Session, lot: Any, maker: Any
) -> None:
    batch = maker.batch(lot=lot, code="B26-001", alive=0)
    other = maker.batch(code="B26-002")
    session.commit()
    typed = {**TYPED, "lot_id": "", "batch_id": "B26-001"}

    page = client.submit("/plantings/new", typed, follow_redirects=True).text
    refused = client.submit("/plantings/new", {**TYPED, "batch_id": other.code})

    row = session.scalars(select(Planting)).one()
    assert (row.lot_id, row.batch_id) == (lot.id, batch.id)
    assert "80 plants were planted here that B26-001 has not dispatched." in page
    assert refused.status_code == 422
    assert "B26-002 holds no plants of lot Q/7." in refused.text


def test_a_planting_takes_a_lot_and_a_batch_that_are_used_up(
    client: Any, session: Session, lot: Any, maker: Any
) -> None:
    batch = maker.batch(lot=lot, code="B26-001", alive=0)
    load = Dispatch(
        code="L26-001", site_id=1, status=DispatchStatus.RECEIVED, planned_on=DAY, sent_on=DAY, received_on=DAY,
        received_by="Noa",
    )  # fmt: skip
    load.lines = [DispatchLine(position=1, batch_id=batch.id, plants=90, sent=90, received=80)]
    session.add(load)
    lot.archived_at = batch.archived_at = utc_now()
    session.commit()
    page = client.get(f"/plantings/new?line={load.lines[0].id}").text
    assert re.search(r'<input[^>]*name="lot_id"[^>]*value="Q/7"|<input[^>]*value="Q/7"[^>]*name="lot_id"', page)

    typed = {**TYPED, "batch_id": "B26-001", "dispatch_line_id": str(load.lines[0].id)}
    assert client.submit("/plantings/new", typed).status_code == 303

    row = session.scalars(select(Planting)).one()
    assert (row.lot_id, row.batch_id, row.plants) == (lot.id, batch.id, 80)


def test_a_load_is_offered_with_what_is_left_of_it_and_no_longer_when_all_is_planted(
    client: Any, session: Session, lot: Any, maker: Any
) -> None:
    batch = maker.batch(lot=lot, code="B26-001", alive=0)
    load = Dispatch(
        code="L26-001", site_id=1, status=DispatchStatus.RECEIVED, planned_on=DAY, sent_on=DAY, received_on=DAY,
        received_by="Noa",
    )  # fmt: skip
    load.lines = [DispatchLine(position=1, batch_id=batch.id, plants=90, sent=90, received=80)]
    session.add(load)
    session.commit()
    typed = {**TYPED, "batch_id": "B26-001", "dispatch_line_id": str(load.lines[0].id)}

    assert "L26-001: B26-001, 80 plants" in client.get("/plantings/new").text
    client.submit("/plantings/new", {**typed, "plants": "30"})
    assert "L26-001: B26-001, 50 plants" in client.get("/plantings/new").text
    client.submit("/plantings/new", {**typed, "plants": "50"})

    assert "L26-001: B26-001" not in client.get("/plantings/new").text
    assert "L26-001: B26-001, 80 plants" in client.get("/plantings/1/edit").text


def test_a_planting_needs_a_lot_or_a_batch(client: Any, lot: Any) -> None:
    answer = client.submit("/plantings/new", {**TYPED, "lot_id": ""})

    assert answer.status_code == 422
    assert "Give the lot, or the batch that the plants came from." in answer.text


def test_the_form_says_that_volunteers_come_on_top_of_the_crew(client: Any) -> None:
    assert "a crew of 3 with 9 volunteers is 12 people" in client.get("/plantings/new").text
