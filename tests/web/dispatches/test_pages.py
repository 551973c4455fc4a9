"""The way of a load on its pages: planned, picked, sent, taken over, and what comes back."""

from __future__ import annotations

import datetime as dt
import io
import re
from typing import Any

import pypdfium2
import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Dispatch, DispatchLine, PlantMovement, ReturnedPlants, Treatment
from nursery.models.dispatches import DispatchStatus
from nursery.models.recipients import Recipient, RecipientKind
from nursery.services.dispatches import planning
from nursery.services.health.quarantine import quarantine
from tests.web.dispatches.conftest import ANA, Yard


def send(client: Any, load: Dispatch, **typed: Any) -> Any:
    """Send it, whole unless told otherwise."""
    asked = {f"sent-{line.id}": line.plants for line in load.lines}
    given = {"sent_on": "2026-11-24", "rest": "later", "version": load.version, **asked, **typed}
    return client.submit(f"/loads/{load.id}/send", given, page=f"/loads/{load.id}")


def receive(client: Any, load: Dispatch, **typed: Any) -> Any:
    came = {f"received-{line.id}": line.plants for line in load.lines}
    given = {"received_by": "Rui Prates", "received_on": "2026-11-25", "received_time": "14:30", **came, **typed}
    return client.submit(f"/loads/{load.id}/receive", given, page=f"/loads/{load.id}")


def printed(answer: Any) -> str:
    """Text of a PDF, its spaces evened out."""
    document = pypdfium2.PdfDocument(io.BytesIO(answer.data))
    return " ".join("".join(page.get_textpage().get_text_bounded() for page in document).split())


def fresh(session: Session, load: Dispatch) -> Dispatch:
    session.rollback()  # what the database holds now, not what this session saw
    session.expire_all()
    return session.get_one(Dispatch, load.id)


def test_one_click_on_the_site_makes_a_load_of_what_is_ready(client: Any, session: Session, yard: Yard) -> None:
    assert "Make a load for this site" in client.get(f"/sites/{yard.site.id}").text
    page = client.submit(f"/loads/for-site/{yard.site.id}", {}, follow_redirects=True).text

    assert "L26-001 holds what is ready for Long bank. Look it over." in page
    lines = session.execute(
        select(DispatchLine.batch_id, DispatchLine.plants).order_by(DispatchLine.position)
    ).all()
    assert lines == [(yard.own.id, 300), (yard.free.id, 100)]


def test_a_load_planned_on_the_form_is_filled_or_empty(client: Any, session: Session, yard: Yard) -> None:
    typed = {"site_id": yard.site.id, "planned_on": "2026-11-26", "recipient_id": "", "driver": "Rui Prates"}
    for more in ({"fill": "y"}, {}):
        assert client.submit("/loads/new", {**typed, **more}).status_code == 303
    loads = session.scalars(select(Dispatch).order_by(Dispatch.id)).all()
    assert [(one.driver, len(one.lines)) for one in loads] == [("Rui Prates", 2), ("Rui Prates", 0)]


def test_where_nothing_is_ready_no_empty_load_is_made_and_the_page_says_why(
    client: Any, session: Session, yard: Yard
) -> None:
    yard.target.archived_at = dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
    session.commit()
    typed = {"site_id": yard.site.id, "planned_on": "2026-11-26", "recipient_id": "", "driver": "", "fill": "y"}

    refused = client.submit("/loads/new", typed)
    click = client.submit(f"/loads/for-site/{yard.site.id}", {}, follow_redirects=True)

    assert (refused.status_code, click.status_code) == (422, 200)
    for page in (refused.text, click.text):
        assert "Nothing is ready for the open targets of Long bank." in page
    assert re.search(r'<input[^>]*name="fill"[^>]*>', click.text)
    assert not re.search(r'<input[^>]*checked[^>]*name="fill"|<input[^>]*name="fill"[^>]*checked', click.text)
    assert session.scalars(select(Dispatch)).all() == []


def test_a_changed_line_says_that_it_was_saved(client: Any, load: Dispatch, yard: Yard) -> None:
    path = f"/loads/{load.id}/lines/{load.lines[0].id}/edit"
    page = client.submit(path, {"plants": "90", "grade": ""}, follow_redirects=True).text

    assert f"“{yard.own.code}” was saved." in page


def test_what_is_ready_is_added_by_a_click_and_what_is_stopped_is_refused(
    client: Any, session: Session, yard: Yard, today: dt.date
) -> None:
    load = planning.plan_load(session, ANA, site_id=yard.site.id, planned_on=today, today=today)
    session.commit()
    path = f"/loads/{load.id}/lines/new"
    page = client.get(path).text
    assert "400 plants still to go" in page
    assert f"{yard.own.code}: 300 plants" in page

    assert client.submit(path, {"batch_id": yard.own.code, "plants": "300", "grade": ""}).status_code == 303
    refused = client.submit(path, {"batch_id": yard.far.code, "plants": "5", "grade": ""})
    assert refused.status_code == 422
    assert f"By the rules of origin {yard.far.code} is not for Long bank" in refused.text
    assert [line.batch_id for line in fresh(session, load).lines] == [yard.own.id]


def test_the_order_of_loading_changes_and_lines_go(client: Any, session: Session, load: Dispatch) -> None:
    own, free = load.lines
    client.submit(f"/loads/{load.id}/lines/{own.id}/later", {})
    assert [line.id for line in fresh(session, load).lines] == [free.id, own.id]
    client.submit(f"/loads/{load.id}/lines/{free.id}/remove", {})
    assert [line.id for line in fresh(session, load).lines] == [own.id]


def test_a_substitute_needs_a_reason_and_shows_everywhere(
    client: Any, session: Session, load: Dispatch, yard: Yard
) -> None:
    path = f"/loads/{load.id}/lines/{load.lines[1].id}/substitute"
    client.submit(f"/loads/{load.id}/lines/{load.lines[0].id}/remove", {})
    page = client.get(path).text
    assert yard.own.code in page
    assert "may not go" in page

    assert client.submit(path, {"batch_id": yard.own.code, "reason": ""}).status_code == 422
    assert client.submit(path, {"batch_id": yard.own.code, "reason": "frost on the south"}).status_code == 303
    for shown in (f"/loads/{load.id}", f"/loads/{load.id}/pick-list"):
        page = client.get(shown).text
        assert f"stands in for {yard.free.code}" in page
        assert "frost on the south" in page
    assert "another batch stands in" in client.get(f"/batches/{yard.free.id}").text


def test_the_pick_list_goes_bench_by_bench_on_screen_and_on_paper(client: Any, load: Dispatch, yard: Yard) -> None:
    page = client.get(f"/loads/{load.id}/pick-list").text
    assert page.index("Bench A") < page.index("Bench B")

    text = printed(client.get(f"/loads/{load.id}/pick-list.pdf"))
    for wanted in ("Pick list L26-001", "Long bank", "Bench A", yard.own.code, yard.free.code, "120", "150"):
        assert wanted in text


def test_the_pick_list_of_a_load_that_has_left_says_that_nothing_is_to_be_picked(
    client: Any, session: Session, load: Dispatch
) -> None:
    told = "This load has left: nothing of it is to be picked any more."
    assert told not in client.get(f"/loads/{load.id}/pick-list").text
    send(client, load)

    assert told in client.get(f"/loads/{load.id}/pick-list").text
    assert told in printed(client.get(f"/loads/{load.id}/pick-list.pdf"))


def test_nobody_is_sent_in_silently_after_a_treatment_or_to_plants_in_quarantine(
    client: Any, session: Session, load: Dispatch, yard: Yard, today: dt.date
) -> None:
    midnight = dt.datetime.combine(today, dt.time(), dt.UTC)
    for batch in (yard.own, yard.far):
        session.add(
            Treatment(treated_at=midnight - dt.timedelta(1), reentry_at=midnight + dt.timedelta(3), applied_by=ANA,
                      product="Sulphur 80", dose=2.0, dose_unit="g per l", bench_id=batch.placements[0].bench_id)
        )  # fmt: skip
    quarantine(session, ANA, batch_id=yard.free.id, reason="wilting", since=today, today=today)
    session.commit()
    closed = "Bench Bench A was treated with Sulphur 80: nobody goes in before"
    for shown in ("", "/pick-list", "/send", f"/lines/{load.lines[0].id}/substitute"):
        page = client.get(f"/loads/{load.id}{shown}").text
        assert f"<strong>Do not go in.</strong> {closed}" in page, shown
        assert f'<span class="code">{yard.own.code}</span> · <a href="/treatments/' in page, shown
        assert f"Batch {yard.free.code} has been in quarantine since" in page, shown
    assert "Bench Bench C was treated with Sulphur 80" in page  # one that might stand in

    text = printed(client.get(f"/loads/{load.id}/pick-list.pdf"))
    assert f"Do not go in. {yard.own.code}: {closed}" in text
    assert f"Batch {yard.free.code} has been in quarantine since" in text
    assert text.count("Do not go in.") == 2  # above the list, and at its bench


def test_a_load_is_sent_in_part_and_the_rest_planned_again(
    client: Any, session: Session, load: Dispatch, yard: Yard
) -> None:
    own, free = load.lines
    answer = send(client, load, **{f"sent-{own.id}": "100", f"sent-{free.id}": "0"})
    page = client.get(answer.location).text

    assert "L26-001 is on the road with 100 plants." in page
    assert "What did not go is in L26-002" in page
    session.rollback()
    later = session.scalars(select(Dispatch).where(Dispatch.code == "L26-002")).one()
    assert [(line.batch_id, line.plants) for line in later.lines] == [(yard.own.id, 20), (yard.free.id, 30)]
    assert session.get_one(Batch, yard.own.id).alive == 200


def test_more_than_was_asked_for_is_refused_at_its_line(client: Any, session: Session, load: Dispatch) -> None:
    answer = send(client, load, **{f"sent-{load.lines[0].id}": "121"})
    assert answer.status_code == 422
    assert "120 plants of" in answer.text
    assert 'value="121"' in answer.text
    assert fresh(session, load).status is DispatchStatus.PLANNED


def test_the_second_who_sends_is_told_who_was_first(client: Any, session: Session, load: Dispatch) -> None:
    assert send(client, load).status_code == 303
    page = client.get(send(client, load).location).text
    assert "L26-001 was sent already, on 24 Nov 2026. Nothing was written a second time." in page
    session.rollback()
    assert len(session.scalars(select(PlantMovement).where(PlantMovement.kind == "dispatched")).all()) == 2


def test_a_page_from_before_a_change_sends_nothing(client: Any, session: Session, load: Dispatch) -> None:
    seen = load.version
    client.submit(f"/loads/{load.id}/lines/{load.lines[0].id}/edit", {"plants": "10", "grade": ""})
    answer = send(client, load, version=seen, **{f"sent-{load.lines[0].id}": "10"})
    assert answer.status_code == 422
    assert "Somebody else changed L26-001 while you were looking at it." in answer.text
    assert fresh(session, load).status is DispatchStatus.PLANNED


def test_a_receipt_names_who_took_it_over_and_what_was_missing(
    client: Any, session: Session, load: Dispatch
) -> None:
    send(client, load)
    own, free = load.lines
    answer = receive(client, load, **{f"received-{own.id}": "113", f"received-{free.id}": "30"})
    page = client.get(answer.location).text

    assert "Rui Prates took 143 plants over." in page
    assert "7 plants were missing: the ledger has them as lost on the way." in page
    assert "14:30" in page
    assert fresh(session, load).status is DispatchStatus.RECEIVED


def test_a_receipt_without_a_name_is_refused(client: Any, session: Session, load: Dispatch) -> None:
    send(client, load)
    assert receive(client, load, received_by="").status_code == 422
    assert fresh(session, load).status is DispatchStatus.SENT


def test_what_comes_back_waits_for_a_decision_and_shows_on_the_list(
    client: Any, session: Session, load: Dispatch, yard: Yard
) -> None:
    send(client, load)
    path = f"/loads/{load.id}/lines/{load.lines[0].id}/return"
    assert "Plants that left do not come back" in client.get(path).text
    page = client.submit(
        path, {"plants": "15", "returned_on": "2026-11-25", "condition": "roots dry"}, follow_redirects=True
    ).text
    assert "They stand apart until somebody decides" in page
    assert "roots dry" in page
    session.rollback()
    assert session.get_one(Batch, yard.own.id).alive == 180
    assert "1 return waits for a decision" in client.get("/loads").text

    row = session.scalars(select(ReturnedPlants)).one()
    decide = f"/loads/{load.id}/returns/{row.id}/decide"
    typed = {"decision": "back-in-stock", "decided_on": "2026-11-25", "reason": ""}
    assert client.submit(decide, typed).status_code == 422
    page = client.submit(decide, {**typed, "reason": "sound"}, follow_redirects=True).text
    assert f"15 plants are back in {yard.own.code}." in page
    session.rollback()
    assert session.get_one(Batch, yard.own.id).alive == 195
    page = client.get(decide).text
    assert "Ana Seabra: sound" in page
    assert "Take the decision back" in page
    assert 'name="decision"' not in page
    again = client.submit(decide, {**typed, "reason": "sound"}, page=f"/loads/{load.id}")
    assert (again.status_code, "Ana Seabra: sound" in again.text) == (422, True)

    undo = client.submit(f"/loads/{load.id}/returns/{row.id}/undo", {"reason": "mould"}, follow_redirects=True)
    assert "The plants stand apart again." in undo.text
    client.submit(f"/loads/{load.id}/returns/{row.id}/strike", {})
    session.rollback()
    assert session.scalars(select(ReturnedPlants)).all() == []


@pytest.mark.parametrize(
    ("act", "before", "after"),
    [
        ("cancel", DispatchStatus.PLANNED, DispatchStatus.CANCELLED),
        ("take-back", DispatchStatus.SENT, DispatchStatus.PLANNED),
        ("take-receipt-back", DispatchStatus.RECEIVED, DispatchStatus.SENT),
    ],
)
def test_what_is_undone_asks_why(
    client: Any, session: Session, load: Dispatch, act: str, before: DispatchStatus, after: DispatchStatus
) -> None:
    if before is not DispatchStatus.PLANNED:
        send(client, load)
    if before is DispatchStatus.RECEIVED:
        receive(client, load)
    path = f"/loads/{load.id}/{act}"
    assert client.submit(path, {"reason": ""}).status_code == 422
    assert fresh(session, load).status is before
    assert client.submit(path, {"reason": "the track is flooded"}).status_code == 303
    assert fresh(session, load).status is after
    assert "the track is flooded" in client.get(f"/loads/{load.id}").text


def test_a_load_for_others_without_its_papers_needs_a_reason(
    client: Any, session: Session, load: Dispatch
) -> None:
    crew = Recipient(name="River crew", kind=RecipientKind.PROFESSIONAL)
    session.add(crew)
    session.flush()
    load.recipient_id = crew.id
    session.commit()
    assert "Papers that apply and are not drawn up:" in client.get(f"/loads/{load.id}/send").text
    refused = send(client, load)
    assert refused.status_code == 422
    assert "These papers apply and are not drawn up:" in refused.text

    answer = send(client, load, reason="they travel with tomorrow’s lorry")
    assert answer.status_code == 303
    assert "they travel with tomorrow’s lorry" in client.get(answer.location).text


def test_loads_are_listed_filtered_and_exported(client: Any, session: Session, load: Dispatch, yard: Yard) -> None:
    send(client, load)
    for asked, found in (("status=sent", True), ("status=planned", False), ("season=2026", True),
                         ("season=2025", False), (f"site={yard.site.id}", True), ("q=Long", True)):  # fmt: skip
        assert (">L26-001</span>" in client.get(f"/loads?{asked}").text) == found, asked
    table = client.get("/loads.csv").text
    assert re.search(r"L26-001,On the road,Long bank,2026-11-25,150,150,0,0", table)


def test_only_a_cancelled_load_is_archived(client: Any, session: Session, load: Dispatch) -> None:
    client.submit(f"/loads/{load.id}/archive", {})
    assert fresh(session, load).archived_at is None
    client.submit(f"/loads/{load.id}/cancel", {"reason": "rain"})
    client.submit(f"/loads/{load.id}/archive", {})
    assert fresh(session, load).archived_at is not None


def test_a_dispatch_on_the_batchs_page_is_a_load_of_one_line(client: Any, session: Session, yard: Yard) -> None:
    typed = {"site_id": yard.site.id, "plants": "200", "happened_on": "2026-11-25", "trays_left": ""}
    client.submit(f"/batches/{yard.own.id}/act/dispatch", typed)
    (load,) = session.scalars(select(Dispatch)).all()
    (line,) = load.lines
    assert (load.status, line.batch_id, line.sent, line.target_id) == (
        DispatchStatus.SENT, yard.own.id, 200, yard.target.id,
    )  # fmt: skip
    assert f">{load.code}</a>" in client.get(f"/batches/{yard.own.id}").text

    client.submit(f"/batches/{yard.own.id}/take-back/{line.act}", {"reason": "never went"})
    assert fresh(session, load).status is DispatchStatus.CANCELLED
    assert session.get_one(Batch, yard.own.id).alive == 300
