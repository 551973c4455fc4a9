"""The pages of plant health: an empty one that teaches, what is open, quarantine, whom to call, hygiene."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import HygieneCheck, Quarantine, Scouting
from nursery.models.health import Finding
from nursery.services.health.hygiene import KEYS
from nursery.services.preferences import read_preferences
from tests.handmade_plans import a_plan


def answers(**values: str) -> dict[str, str]:
    return {**dict.fromkeys(KEYS, "yes"), "checked_on": "2026-11-25", "notes": "", **values}


def a_note(session: Session, **values: Any) -> Scouting:
    row = Scouting(
        **{
            "seen_on": dt.date(2026, 11, 24),
            "finding": Finding.PEST,
            "description": "Aphids",
            "person": "Rui",
            **values,
        }
    )
    session.add(row)
    session.commit()
    return row


def test_an_empty_page_teaches_a_weekly_walk(client: Any) -> None:
    page = client.get("/health").text

    assert "Begin with a walk" in page
    assert "Same day each week, the cleanest place first and the sickest last" in page
    assert 'href="/scoutings/new"' in page


def test_the_home_page_tells_what_is_open(client: Any, session: Session, maker: Any) -> None:
    bench = maker.bench(name="North 2")
    session.commit()
    a_note(session, bench_id=bench.id)
    a_note(session, bench_id=bench.id, description="Old story", closed_on=dt.date(2026, 11, 25), outcome="Gone")
    suspicion = a_note(
        session, bench_id=bench.id, finding=Finding.SUSPECTED_NOTIFIABLE, description="Bleeding stem"
    )

    page = client.get("/health").text

    assert "Aphids" in page
    assert "Old story" not in page
    assert "Suspected notifiable organism: Bench North 2." in page
    assert "Nobody has written down yet whom to call." in page
    assert page.index("Bleeding stem") < page.index("Aphids")
    assert f'href="/scoutings/{suspicion.id}"' in page


def test_a_walk_is_asked_for_when_the_last_is_more_than_a_week_ago(
    client: Any, session: Session, maker: Any
) -> None:
    bench = maker.bench()
    session.commit()
    row = a_note(session, bench_id=bench.id, seen_on=dt.date(2026, 11, 17))

    assert "The last note is of 17 Nov 2026. Walk past every bench once a week." in client.get("/health").text
    row.seen_on = dt.date(2026, 11, 18)
    session.commit()
    assert "Walk past every bench once a week" not in client.get("/health").text


def test_whom_to_call_is_written_down_once(client: Any, session: Session) -> None:
    client.submit("/health/contact", {"health_contact": "Plant health office, 555 0100"})

    assert read_preferences(session).health_contact == "Plant health office, 555 0100"
    long = client.submit("/health/contact", {"health_contact": "x" * 201})
    assert long.status_code == 422
    assert "has 201 characters; at most 200 fit" in long.text


def test_a_bench_is_shut_off_and_let_out_with_reasons(client: Any, session: Session, maker: Any) -> None:
    bench = maker.bench(name="North 2")
    session.commit()
    form = {"batch_id": "", "bench_id": str(bench.id), "reason": "Brown roots", "since": "2026-11-24"}

    shut = client.submit("/health/quarantines/new", form, follow_redirects=True).text
    again = client.submit("/health/quarantines/new", form)

    assert "Bench North 2 is in quarantine: nothing leaves it." in shut
    assert again.status_code == 422
    assert (
        "Bench North 2 has been in quarantine since 24 Nov 2026 (Brown roots). Nothing was changed." in again.text
    )
    assert "Brown roots</textarea>" in again.text
    row = session.scalars(select(Quarantine)).one()
    lift = f"/health/quarantines/{row.id}/lift"
    silent = client.submit(lift, {"reason": ""}, page="/health", follow_redirects=True).text
    assert "Say why it is lifted: who looked, what was found, what was done." in silent
    lifted = client.submit(
        lift, {"reason": "Overwatered, roots white again"}, page="/health", follow_redirects=True
    )
    assert "The quarantine of Bench North 2 is lifted." in lifted.text
    table = client.get("/health/quarantines.csv").get_data(as_text=True).splitlines()
    assert table[1] == (
        "2026-11-24,,North 2,Brown roots,Ana Seabra,Lifted,2026-11-25 12:00,Ana Seabra,"
        '"Overwatered, roots white again"'
    )
    assert client.get("/health/quarantines?state=standing").text.count("North 2") == 0


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({}, "Name either a batch or a bench."),
        ({"batch_id": "B-7", "bench_id": "1"}, "Name either a batch or a bench."),
        ({"batch_id": "B-7", "reason": " "}, "Say why it is shut off: what was seen, or what is feared."),
        (
            {"batch_id": "B-7", "since": "2026-12-01"},
            "1 Dec 2026 is still to come.",
        ),
        ({"batch_id": "B-8"}, "There is no “B-8”. Did you mean B-7?"),
        ({"batch_id": "B-7", "since": ""}, "Since must be filled in."),
    ],
)
def test_a_quarantine_that_cannot_be_is_refused(
    client: Any, session: Session, maker: Any, values: dict[str, str], message: str
) -> None:
    maker.batch(code="B-7", bench=maker.bench())
    session.commit()
    form = {"batch_id": "", "bench_id": "", "reason": "Wilting", "since": "2026-11-24"}

    answer = client.submit("/health/quarantines/new", {**form, **values})

    assert answer.status_code == 422
    assert message in answer.text
    assert session.scalars(select(Quarantine)).all() == []


def test_what_is_not_as_it_should_be_is_shown_until_the_next_check(
    client: Any, session: Session, maker: Any
) -> None:
    nursery = maker.nursery(name="Yard")
    session.commit()
    form = f"/health/hygiene/new/{nursery.id}"
    assert client.get("/health/hygiene/new").headers["Location"] == form

    first = client.submit(form, answers(drainage="no", hoses="not-here"), follow_redirects=True).text

    assert "1 point is not as it should be." in first
    for path in ("/health", "/health/hygiene"):
        assert "No water stands under the benches or on the paths." in client.get(path).text, path
    assert "“No” the last time" in client.get(form).text
    client.submit(form, answers())
    for path in ("/health", "/health/hygiene"):
        assert "No water stands under the benches or on the paths." not in client.get(path).text, path
    assert client.get("/health/hygiene.csv").get_data(as_text=True).count("Yard") == 2


def test_a_point_without_an_answer_is_asked_again_and_the_others_stay(
    client: Any, session: Session, maker: Any
) -> None:
    nursery = maker.nursery()
    session.commit()
    sent = answers(notes="Paths are wet", waste="perhaps")
    del sent["boots"]

    answer = client.submit(f"/health/hygiene/new/{nursery.id}", sent)

    assert answer.status_code == 422
    assert answer.text.count("Answer yes, no, or that there is none here.") == 4  # above and at both points
    numbers = [KEYS.index(key) + 1 for key in ("boots", "waste")]
    assert [f">{number}. Answer yes, no" in answer.text for number in numbers] == [True, True]
    assert 'id="tools-yes" name="tools" value="yes" checked' in answer.text
    assert "Paths are wet</textarea>" in answer.text
    assert session.scalars(select(HygieneCheck)).all() == []


@pytest.mark.parametrize("day", ["2026-11-26", "1990-01-01", "soon", ""])
def test_a_check_has_a_day_that_has_come(client: Any, session: Session, maker: Any, day: str) -> None:
    nursery = maker.nursery()
    session.commit()

    answer = client.submit(f"/health/hygiene/new/{nursery.id}", answers(checked_on=day))

    assert answer.status_code == 422
    assert 'href="#checked_on"' in answer.text


def test_pages_of_what_there_is_not_are_not_found(client: Any) -> None:
    for path in ("/health/hygiene/99", "/health/hygiene/new/99", "/scoutings/99", "/treatments/99"):
        assert client.get(path).status_code == 404, path


def test_without_a_nursery_the_list_says_what_to_do_first(client: Any) -> None:
    assert "Write yours down first." in client.get("/health/hygiene/new").text


def test_with_several_nurseries_one_is_chosen(client: Any, session: Session, maker: Any) -> None:
    first, second = maker.nursery(name="Yard"), maker.nursery(name="Shade house")
    session.commit()

    page = client.get("/health/hygiene/new").text

    assert f'href="/health/hygiene/new/{first.id}"' in page
    assert f'href="/health/hygiene/new/{second.id}"' in page


def test_batch_and_bench_tell_first_what_stops_one_and_lead_on(client: Any, session: Session, maker: Any) -> None:
    bench = maker.bench(name="North 2")
    batch = maker.batch(code="B-7", bench=bench)
    session.commit()
    a_note(session, batch_id=batch.id)
    treated = {
        "product": "Sulphur 80", "dose": "2", "dose_unit": "g per l", "bench_id": str(bench.id), "nursery_id": "",
        "treated_on": "2026-11-24", "treated_time": "07:30", "reentry_hours": "720",
    }  # fmt: skip
    client.submit("/treatments/new", treated)
    shut = {"batch_id": "", "bench_id": str(bench.id), "reason": "Brown roots", "since": "2026-11-24"}
    client.submit("/health/quarantines/new", shut)

    for path in (f"/batches/{batch.id}", f"/benches/{bench.id}"):
        page = client.get(path).text
        assert page.index("Bench North 2 is in quarantine.") < page.index('id="health-title"'), path
        assert page.index("Bench North 2 was treated with Sulphur 80") < page.index('id="health-title"'), path
        assert "Aphids" in page, path
        assert "Lift the quarantine" in page, path
    assert 'href="/scoutings/new?batch=B-7"' in client.get(f"/batches/{batch.id}").text
    assert f'href="/treatments/new?bench={bench.id}"' in client.get(f"/benches/{bench.id}").text


def test_whoever_counts_moves_or_dispatches_is_told_where_nobody_goes_in(
    client: Any, session: Session, maker: Any
) -> None:
    bench, other = maker.bench(name="North 2"), maker.bench(name="South 1")
    batch = maker.batch(code="B-7", bench=bench, alive=40)
    session.commit()
    treated = {
        "product": "Sulphur 80", "dose": "2", "dose_unit": "g per l", "nursery_id": "",
        "treated_on": "2026-11-24", "treated_time": "07:30", "reentry_hours": "720",
    }  # fmt: skip
    for each in (bench, other):
        client.submit("/treatments/new", {**treated, "bench_id": str(each.id)})

    told = {
        path: [name in client.get(f"/batches/{batch.id}/{path}").text for name in ("North 2 was", "South 1 was")]
        for path in ("count", "act/dispatch", "act/move")
    }

    # Only who carries trays elsewhere may come to the other bench.
    assert told == {"count": [True, False], "act/dispatch": [True, False], "act/move": [True, True]}


def test_the_season_tells_in_one_line_what_is_open_and_nothing_when_nothing_is(
    client: Any, session: Session, maker: Any
) -> None:
    a_plan(session)
    bench = maker.bench()
    session.commit()
    assert "Plant health:" not in client.get("/").text

    a_note(session, bench_id=bench.id)

    page = client.get("/").text
    assert "Plant health: 1 open finding." in page
    assert 'href="/health">What is open in plant health</a>' in page


def test_todays_work_begins_with_where_nobody_goes_in(client: Any, session: Session, maker: Any) -> None:
    bench = maker.bench(name="North 2")
    session.commit()
    sentence = "Bench North 2 was treated with Sulphur 80: nobody goes in before"
    assert sentence not in client.get("/work").text
    treated = {
        "product": "Sulphur 80", "dose": "2", "dose_unit": "g per l", "bench_id": str(bench.id), "nursery_id": "",
        "treated_on": "2026-11-24", "treated_time": "07:30", "reentry_hours": "720",
    }  # fmt: skip

    client.submit("/treatments/new", treated)

    assert sentence in client.get("/work").text
    assert sentence in client.get("/work?week=2026-W48").text
    assert sentence not in client.get("/work?week=2026-W49").text
