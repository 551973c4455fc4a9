"""Notes from walks: written on a phone with photographs, reported, shut off with one touch, closed."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Attachment, Quarantine, Scouting
from nursery.models.health import Finding
from nursery.services.preferences import change_preferences
from tests.pictures import picture

PNG = picture()


def typed(**values: Any) -> dict[str, Any]:
    return {
        "finding": "disease", "description": "Wilting from the tip, brown roots", "plants_affected": "",
        "batch_id": "", "bench_id": "", "nursery_id": "", "seen_on": "2026-11-25", "person": "Rui", "notes": "",
        **values,
    }  # fmt: skip


def photo(name: str, content: bytes = PNG) -> tuple[io.BytesIO, str]:
    return io.BytesIO(content), name


def test_a_note_with_photographs_is_written_in_one_go(client: Any, session: Session, maker: Any) -> None:
    batch = maker.batch(code="B-26-7")
    session.commit()

    answer = client.submit(
        "/scoutings/new",
        typed(
            batch_id="B-26-7",
            plants_affected="30",
            photos=[photo("bench.png"), photo("root.png", picture(colour="#713"))],
        ),
        content_type="multipart/form-data",
    )

    row = session.scalars(select(Scouting)).one()
    assert (answer.status_code, row.batch_id, row.plants_affected, row.person) == (303, batch.id, 30, "Rui")
    photos = session.scalars(select(Attachment).order_by(Attachment.id)).all()
    assert [(photo.subject, photo.subject_id, photo.file_name, photo.kind) for photo in photos] == [
        ("scoutings", row.id, "bench.png", "photo"),
        ("scoutings", row.id, "root.png", "photo"),
    ]
    page = client.get(answer.headers["Location"]).text
    assert f'<img src="/attachments/{photos[0].id}" alt="Photograph 1 of what was seen"' in page
    assert client.get(f"/attachments/{photos[0].id}").data == PNG


def test_a_file_is_attached_later_to_the_note_of_its_day(client: Any, session: Session, maker: Any) -> None:
    nursery = maker.nursery()
    session.commit()
    client.submit("/scoutings/new", typed(nursery_id=str(nursery.id)))
    row = session.scalars(select(Scouting)).one()
    form = f"/attachments/new/scoutings/{row.id}"
    assert "Attach a file to Note of 25 Nov 2026" in client.get(form).text

    answer = client.submit(
        form, {"kind": "document", "file": (io.BytesIO(b"%PDF-1.7 report"), "lab.pdf")}, follow_redirects=True
    )

    assert "“lab.pdf” was attached." in answer.text
    assert answer.request.path == f"/scoutings/{row.id}"


def test_a_file_that_is_no_photograph_does_not_cost_the_note(client: Any, session: Session, maker: Any) -> None:
    maker.batch(code="B-26-7")
    session.commit()

    answer = client.submit(
        "/scoutings/new",
        typed(batch_id="B-26-7", photos=[photo("leaf.exe", b"MZ no picture"), photo("leaf.png")]),
        content_type="multipart/form-data",
        follow_redirects=True,
    )

    assert answer.status_code == 200
    assert "“leaf.exe” was not kept. Only PDF, PNG, JPEG and WebP files are kept" in answer.text
    assert [photo.file_name for photo in session.scalars(select(Attachment))] == ["leaf.png"]
    assert session.scalars(select(Scouting)).one().description == "Wilting from the tip, brown roots"


def test_more_photographs_than_a_page_holds_are_refused_and_the_words_stay(client: Any, session: Session) -> None:
    answer = client.submit(
        "/scoutings/new",
        typed(photos=[photo(f"{number}.png") for number in range(7)]),
        content_type="multipart/form-data",
    )

    assert answer.status_code == 422
    assert "At most 6 photographs at once. Add the others later." in answer.text
    assert "Wilting from the tip, brown roots</textarea>" in answer.text
    assert session.scalars(select(Scouting)).all() == []


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({}, "Say where: name a batch, a bench or a nursery."),
        ({"description": "", "nursery_id": "1"}, "Say what you saw, in a few words, or take a photograph."),
        ({"seen_on": "2026-11-26", "nursery_id": "1"}, "26 Nov 2026 is still to come. Correct the date."),
        ({"seen_on": "1999-06-18", "nursery_id": "1"}, "18 Jun 1999 is too long ago. Correct the date."),
        ({"seen_on": "", "nursery_id": "1"}, "Seen on must be filled in."),
        ({"finding": "plague", "nursery_id": "1"}, "Choose one of: Nothing unusual"),
        ({"plants_affected": "-3", "nursery_id": "1"}, "-3 is out of range"),
        ({"batch_id": "B-99"}, "There is no “B-99”."),
        ({"bench_id": "99"}, "This choice is no longer in the list."),
        ({"description": "x" * 2001, "nursery_id": "1"}, "The text is longer than 2,000 characters. Shorten it."),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_typed_words_stay(
    client: Any, session: Session, maker: Any, values: dict[str, str], message: str
) -> None:
    maker.nursery()
    session.commit()

    answer = client.submit("/scoutings/new", typed(**values))

    assert answer.status_code == 422
    assert message in answer.text
    assert 'value="Rui"' in answer.text
    assert session.scalars(select(Scouting)).all() == []


def test_a_photograph_says_enough(client: Any, session: Session, maker: Any) -> None:
    bench = maker.bench()
    session.commit()

    answer = client.submit(
        "/scoutings/new",
        typed(description="", bench_id=str(bench.id), photos=[photo("leaf.png")]),
        content_type="multipart/form-data",
    )

    assert answer.status_code == 303


def test_a_walk_that_found_nothing_is_over_at_once_and_one_that_did_is_not(
    client: Any, session: Session, maker: Any
) -> None:
    nursery = maker.nursery()
    session.commit()
    where = {"nursery_id": str(nursery.id), "description": ""}
    client.submit("/scoutings/new", typed(finding="nothing", seen_on="2026-11-20", **where))
    row = session.scalars(select(Scouting)).one()
    assert row.closed_on == dt.date(2026, 11, 20)

    changed = client.submit(
        f"/scoutings/{row.id}/edit", typed(finding="pest", **{**where, "description": "Aphids"}, version="1")
    )

    session.rollback()
    assert (changed.status_code, row.finding, row.closed_on) == (303, Finding.PEST, None)


def test_a_suspicion_says_that_the_authority_is_told_and_whom_to_call(
    client: Any, session: Session, maker: Any
) -> None:
    nursery = maker.nursery()
    change_preferences(session, "Ana", values={"health_contact": "Plant health office, 555 0100"})
    session.commit()

    page = client.submit(
        "/scoutings/new", typed(finding="suspected-notifiable", nursery_id=str(nursery.id)), follow_redirects=True
    ).text

    assert "The plant health authority must be told without delay, before you are sure." in page
    assert "Plant health office, 555 0100" in page
    row = session.scalars(select(Scouting)).one()
    at = f"/scoutings/{row.id}"
    early = client.submit(f"{at}/report", {"reported_on": "2026-11-24"}, page=at, follow_redirects=True).text
    assert "24 Nov 2026 does not lie between the day it was seen, 25 Nov 2026, and today." in early
    told = client.submit(f"{at}/report", {"reported_on": "2026-11-25"}, page=at, follow_redirects=True).text
    assert "It is noted that the authority was told." in told
    assert "must be told without delay" not in told


def test_one_touch_puts_the_batch_in_quarantine_with_what_was_seen(
    client: Any, session: Session, maker: Any
) -> None:
    batch = maker.batch(code="B-26-7")
    session.commit()
    client.submit("/scoutings/new", typed(batch_id="B-26-7"))
    row = session.scalars(select(Scouting)).one()
    page = client.get(f"/scoutings/{row.id}").text
    assert "Put batch B-26-7 in quarantine" in page
    assert 'name="reason" value="Disease: Wilting from the tip, brown roots"' in page

    answer = client.submit(
        "/health/quarantines/new",
        {"batch_id": "B-26-7", "reason": "Disease: Wilting", "since": "2026-11-25", "scouting": str(row.id)},
        page=f"/scoutings/{row.id}",
    )

    assert answer.headers["Location"] == f"/scoutings/{row.id}"
    session.rollback()
    held = session.scalars(select(Quarantine)).one()
    assert (held.batch_id, held.scouting_id, held.lifted_at) == (batch.id, row.id, None)
    after = client.get(f"/scoutings/{row.id}").text
    assert "Batch B-26-7 is in quarantine." in after
    assert "Put batch B-26-7 in quarantine" not in after


def test_a_note_is_closed_with_how_it_ended_and_opened_again(client: Any, session: Session, maker: Any) -> None:
    nursery = maker.nursery()
    session.commit()
    client.submit("/scoutings/new", typed(nursery_id=str(nursery.id)))
    row = session.scalars(select(Scouting)).one()
    at = f"/scoutings/{row.id}"

    nothing = client.submit(f"{at}/close", {"outcome": " "}, page=at, follow_redirects=True).text
    assert "Say how it ended: what was done, and what you see now." in nothing
    client.submit(f"{at}/close", {"outcome": "Sick trays burned"}, page=at)
    session.rollback()
    assert (row.closed_on, row.outcome) == (dt.date(2026, 11, 25), "Sick trays burned")
    client.submit(f"{at}/reopen", page=at)
    session.rollback()
    assert (row.closed_on, row.outcome) == (None, "")


def test_the_list_filters_what_is_open_and_exports(client: Any, session: Session, maker: Any) -> None:
    nursery = maker.nursery(name="Yard")
    session.commit()
    client.submit("/scoutings/new", typed(nursery_id=str(nursery.id)))
    client.submit("/scoutings/new", typed(finding="nothing", description="All well", nursery_id=str(nursery.id)))

    open_only = client.get("/scoutings?state=open").text
    table = client.get("/scoutings.csv").get_data(as_text=True).splitlines()

    assert "Wilting from the tip" in open_only
    assert "All well" not in open_only
    assert table[0].startswith("Seen on,Finding,What was seen,Batch,Bench,Nursery,Plants affected")
    assert sorted(line.split(",")[1] for line in table[1:]) == ["Disease", "Nothing unusual"]


def test_a_form_is_prefilled_with_the_place_one_came_from(client: Any, session: Session, maker: Any) -> None:
    bench = maker.bench(name="North 2")
    batch = maker.batch(code="B-26-7")
    session.commit()

    page = client.get(f"/scoutings/new?batch={batch.code}&bench={bench.id}&finding=pest").text

    assert 'value="B-26-7"' in page
    assert f'<option value="{bench.id}" selected>' in page
    assert '<option value="pest" selected>' in page
    assert client.get("/scoutings/new?batch=nothing&bench=x&finding=%00").status_code == 200
    assert client.get(f"/scoutings/new?bench={10**20}&nursery=-1").status_code == 200


def test_more_plants_affected_than_are_alive_are_told(client: Any, session: Session, maker: Any) -> None:
    maker.batch(code="B-26-7", alive=40)
    session.commit()
    fits = client.submit("/scoutings/new", typed(batch_id="B-26-7", plants_affected="40"), follow_redirects=True)
    over = client.submit("/scoutings/new", typed(batch_id="B-26-7", plants_affected="41"), follow_redirects=True)

    assert "are said to be affected" not in fits.text
    assert "41 plants are said to be affected, but B-26-7 has 40 alive. Correct the number, or count" in over.text
