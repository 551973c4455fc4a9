from __future__ import annotations

import datetime as dt

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Dispatch, Planting, PlantMovement
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.planning.growing.words import Cause
from nursery.services import batches
from nursery.services.dispatches import planning, proposing, receiving, returning, sending, undoing
from nursery.services.dispatches.sums import load_sums
from nursery.services.flows.sent import read_sent_plants
from nursery.services.forecast.reading import batch_forecasts
from nursery.services.health.quarantine import quarantine
from tests.services.dispatches.conftest import ANA, SENT, TODAY, Yard
from tests.services.ledger.test_concurrency import WRITERS, together


def at_site(session: Session, yard: Yard) -> int:
    """What trace tells of the site."""
    return sum(row.plants for row in read_sent_plants(session, site_id=yard.site.id))


def test_every_line_leaves_by_an_act_of_its_own(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 300), (yard.free, 50))

    assert (load.status, load.sent_on, [line.sent for line in load.lines]) == (
        DispatchStatus.SENT, SENT, [300, 50],
    )  # fmt: skip
    acts = [line.act for line in load.lines]
    moved = session.execute(
        select(PlantMovement.act, PlantMovement.batch_id, PlantMovement.change, PlantMovement.site_id).where(
            PlantMovement.act.in_(acts)
        )
    ).all()
    assert sorted(moved) == sorted(
        [(acts[0], yard.own.id, -300, yard.site.id), (acts[1], yard.free.id, -50, yard.site.id)]
    )
    assert (yard.own.alive, yard.free.alive, at_site(session, yard)) == (0, 150, 350)


def test_a_part_goes_and_the_rest_becomes_a_load_of_another_day(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 300), (yard.free, 50))
    later = sending.send(
        session, ANA, load=load, sent_on=SENT, today=TODAY, sent={yard.line(load, yard.own).id: 180},
        rest=sending.Rest.LATER, rest_on=TODAY,
    )  # fmt: skip
    assert later is not None
    assert [(line.batch_id, line.plants) for line in later.lines] == [(yard.own.id, 120)]
    assert (later.status, later.site_id, later.planned_on) == (DispatchStatus.PLANNED, yard.site.id, TODAY)
    assert (yard.own.alive, yard.free.alive) == (120, 150)


def test_the_rest_may_be_dropped(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 300))
    assert sending.send(session, ANA, load=load, sent_on=SENT, today=TODAY, sent={load.lines[0].id: 180}) is None
    assert [one.id for one in session.scalars(select(Dispatch))] == [load.id]


def test_more_than_is_asked_or_alive_is_refused_at_its_line(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 250), (yard.free, 20))
    own = yard.line(load, yard.own)
    with pytest.raises(Invalid) as caught:
        sending.send(session, ANA, load=load, sent_on=SENT, today=TODAY, sent={own.id: 251})
    assert set(caught.value.errors) == {f"sent-{own.id}"}

    batches.lose(
        session, ANA, batch=yard.own, plants=100, cause=Cause.FROST, happened_on=dt.date(2026, 11, 22), today=TODAY
    )
    with pytest.raises(Invalid) as caught:
        sending.send(session, ANA, load=load, sent_on=SENT, today=TODAY)
    assert set(caught.value.errors) == {f"sent-{own.id}"}
    assert (load.status, yard.free.alive) == (DispatchStatus.PLANNED, 200)  # nothing of it went


def test_nothing_in_quarantine_leaves(session: Session, yard: Yard) -> None:
    load = yard.load((yard.free, 20), (yard.own, 20))
    quarantine(session, ANA, batch_id=yard.own.id, reason="wilting", since=TODAY, today=TODAY)
    with pytest.raises(Conflict) as caught:
        sending.send(session, ANA, load=load, sent_on=SENT, today=TODAY)
    assert "in quarantine" in str(caught.value)
    assert (load.status, yard.free.alive) == (DispatchStatus.PLANNED, 200)


def test_a_load_of_nothing_and_one_of_tomorrow_are_refused(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 20))
    for given in ({"sent": {load.lines[0].id: 0}, "sent_on": SENT}, {"sent_on": TODAY + dt.timedelta(1)}):
        with pytest.raises(Invalid) as caught:
            sending.send(session, ANA, load=load, today=TODAY, **given)  # type: ignore[arg-type]
        assert set(caught.value.errors) == {"sent_on"}


def test_whoever_takes_it_over_is_named_and_what_is_missing_is_lost(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 300), (yard.free, 50))
    own = yard.line(load, yard.own)
    receiving.receive(
        session, ANA, load=load, received_on=TODAY, received_by="Rui Prates", received_time="14.05", today=TODAY,
        received={own.id: 280},
    )  # fmt: skip
    assert (load.status, load.received_by, load.received_time) == (DispatchStatus.RECEIVED, "Rui Prates", "14:05")
    assert [line.received for line in load.lines] == [280, 50]
    assert (load_sums(load).missing, load_sums(load).at_site, at_site(session, yard)) == (20, 330, 330)
    sums = batches.plant_sums(session, [yard.own.id])[yard.own.id]
    assert (yard.own.alive, sums.lost, sums.dispatched) == (0, 20, 280)
    lost = session.scalars(select(PlantMovement).where(PlantMovement.cause == Cause.HANDLING)).one()
    assert (lost.change, lost.happened_on) == (-20, TODAY)


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"received_by": " "}, "received_by"),
        ({"received_time": "late"}, "received_time"),
        ({"received_time": "25:00"}, "received_time"),
        ({"received_on": SENT - dt.timedelta(1)}, "received_on"),
        ({"received_on": TODAY + dt.timedelta(1)}, "received_on"),
    ],
)
def test_a_receipt_that_cannot_be_is_refused(
    session: Session, yard: Yard, given: dict[str, object], field: str
) -> None:
    load = yard.sent((yard.own, 300))
    values = {"received_on": TODAY, "received_by": "Rui Prates", **given}
    with pytest.raises(Invalid) as caught:
        receiving.receive(session, ANA, load=load, today=TODAY, **values)  # type: ignore[arg-type]
    assert set(caught.value.errors) == {field}


def test_no_more_is_taken_over_than_was_sent(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 100))
    line = load.lines[0]
    with pytest.raises(Invalid) as caught:
        receiving.receive(
            session, ANA, load=load, received_on=TODAY, received_by="Rui", today=TODAY, received={line.id: 101}
        )
    assert set(caught.value.errors) == {f"received-{line.id}"}


def test_a_receipt_is_taken_back_with_what_was_missing(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 300))
    line = load.lines[0]
    for came in (280, 299):
        receiving.receive(
            session, ANA, load=load, received_on=TODAY, received_by="Rui", today=TODAY, received={line.id: came}
        )
        assert at_site(session, yard) == came
        receiving.take_receipt_back(session, ANA, load=load, reason="counted again", today=TODAY)
        assert (load.status, line.received, at_site(session, yard)) == (DispatchStatus.SENT, None, 300)
    assert (yard.own.alive, batches.wrong_plant_balances(session)) == (0, [])


@pytest.mark.parametrize("first", ["return", "receipt taken back"])
def test_what_came_back_after_a_receipt_stays_within_what_was_received(
    session: Session, yard: Yard, first: str
) -> None:
    load = yard.sent((yard.own, 12))
    line = load.lines[0]

    def receive(came: int) -> None:
        receiving.receive(
            session, ANA, load=load, received_on=TODAY, received_by="Rui", today=TODAY, received={line.id: came}
        )

    receive(10)
    if first == "return":
        returning.note_return(session, ANA, line=line, plants=4, returned_on=TODAY, today=TODAY)
    receiving.take_receipt_back(session, ANA, load=load, reason="the wrong name", today=TODAY)
    if first == "receipt taken back":
        returning.note_return(session, ANA, line=line, plants=4, returned_on=TODAY, today=TODAY)
    for wrong in (3, 13):
        with pytest.raises(Invalid):
            receive(wrong)
    receive(10)

    sums = load_sums(load)
    assert (line.received, sums.missing, sums.returned, at_site(session, yard)) == (10, 2, 4, 6)
    assert batches.wrong_plant_balances(session) == []


def test_what_came_back_before_anybody_took_the_load_over_never_arrived(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 12))
    returning.note_return(session, ANA, line=load.lines[0], plants=4, returned_on=TODAY, today=TODAY)
    receiving.receive(session, ANA, load=load, received_on=TODAY, received_by="Rui", today=TODAY)

    assert (load.lines[0].received, load_sums(load).missing, at_site(session, yard)) == (8, 0, 8)


def test_plants_that_came_back_stand_apart(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 300))
    row = returning.note_return(
        session, ANA, line=load.lines[0], plants=40, returned_on=TODAY, condition="dry roots", today=TODAY
    )
    assert row.decision is None
    assert (yard.own.alive, at_site(session, yard)) == (0, 260)
    assert batches.dispatched_to(session, yard.own) == {yard.site.id: 260}
    assert batch_forecasts(session, batch_ids=[yard.own.id], today=TODAY)[yard.own.id].dispatched == 260
    # The target still waits for them: the free batch fills the hole.
    (one,) = proposing.propose(session, yard.site, planned_on=SENT, today=TODAY)
    assert (one.sent, one.left) == (260, 140)


def test_nobody_takes_them_into_stock_behind_the_decision(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 300))
    returning.note_return(session, ANA, line=load.lines[0], plants=300, returned_on=TODAY, today=TODAY)
    with pytest.raises(Invalid):
        batches.bring_back(
            session, ANA, batch=yard.own, site_id=yard.site.id, plants=1, happened_on=TODAY, today=TODAY
        )


@pytest.mark.parametrize(
    ("decision", "alive", "lost"), [(ReturnDecision.BACK_IN_STOCK, 40, 0), (ReturnDecision.DISCARDED, 0, 40)]
)
def test_a_decision_moves_them_and_can_be_taken_back(
    session: Session, yard: Yard, decision: ReturnDecision, alive: int, lost: int
) -> None:
    load = yard.sent((yard.own, 300))
    row = returning.note_return(session, ANA, line=load.lines[0], plants=40, returned_on=TODAY, today=TODAY)
    with pytest.raises(Invalid) as caught:
        returning.decide(session, ANA, row=row, decision=decision, reason="", decided_on=TODAY, today=TODAY)
    assert set(caught.value.errors) == {"reason"}

    given = {"decision": decision, "reason": "looked at by Ana", "decided_on": TODAY, "today": TODAY}
    returning.decide(session, ANA, row=row, **given)  # type: ignore[arg-type]
    sums = batches.plant_sums(session, [yard.own.id])[yard.own.id]
    assert (yard.own.alive, sums.lost, at_site(session, yard)) == (alive, lost, 260)
    assert (yard.own.trays > 0) == (alive > 0)
    with pytest.raises(Conflict):
        returning.decide(session, ANA, row=row, **given)  # type: ignore[arg-type]

    returning.undo_decision(session, ANA, row=row, reason="wrong trays", today=TODAY)
    assert (row.decision, yard.own.alive, at_site(session, yard)) == (None, 0, 260)
    assert yard.own.trays == 0
    assert batches.wrong_plant_balances(session) == []


def test_a_load_with_returns_is_not_taken_back_over_them(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 300))
    row = returning.note_return(session, ANA, line=load.lines[0], plants=40, returned_on=TODAY, today=TODAY)
    with pytest.raises(Conflict):
        sending.take_back(session, ANA, load=load, reason="never went", today=TODAY)
    returning.withdraw_return(session, ANA, row=row, today=TODAY)
    sending.take_back(session, ANA, load=load, reason="never went", today=TODAY)
    assert (load.status, load.sent_on, yard.own.alive) == (DispatchStatus.PLANNED, None, 300)
    assert [(line.sent, line.act) for line in load.lines] == [(None, "")]


def test_a_load_that_was_taken_over_is_taken_back_with_its_receipt(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 300), (yard.free, 50))
    receiving.receive(
        session, ANA, load=load, received_on=TODAY, received_by="Rui", today=TODAY,
        received={yard.line(load, yard.own).id: 280},
    )  # fmt: skip
    sending.take_back(session, ANA, load=load, reason="the wrong site", today=TODAY)
    assert (yard.own.alive, yard.free.alive, at_site(session, yard)) == (300, 200, 0)
    assert batches.wrong_plant_balances(session) == []
    sending.send(session, ANA, load=load, sent_on=SENT, today=TODAY)  # and goes again
    assert at_site(session, yard) == 350


def test_a_load_whose_plants_were_planted_is_not_taken_back(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 300))
    session.add(
        Planting(site_id=yard.site.id, lot_id=yard.own.lot_id, batch_id=yard.own.id, planted_on=TODAY, plants=5,
                 dispatch_line_id=load.lines[0].id)
    )  # fmt: skip
    session.flush()
    with pytest.raises(Conflict) as caught:
        sending.take_back(session, ANA, load=load, reason="never went", today=TODAY)
    assert "written down as planted" in str(caught.value)


def test_the_ledgers_act_of_a_load_of_one_line_takes_the_load_back(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 300))
    undoing.take_act_back(session, ANA, act=load.lines[0].act, reason="never went", today=TODAY)
    assert (load.status, load.reason, yard.own.alive) == (DispatchStatus.CANCELLED, "never went", 300)

    two = yard.sent((yard.own, 10), (yard.free, 10))
    with pytest.raises(Conflict) as caught:
        undoing.take_act_back(session, ANA, act=two.lines[0].act, reason="never went", today=TODAY)
    assert two.code in str(caught.value)


def test_the_ledgers_act_of_missing_plants_is_taken_back_with_the_receipt(session: Session, yard: Yard) -> None:
    load = yard.sent((yard.own, 300))
    receiving.receive(
        session, ANA, load=load, received_on=TODAY, received_by="Rui", today=TODAY,
        received={load.lines[0].id: 280},
    )  # fmt: skip
    act = session.scalar(select(PlantMovement.act).where(PlantMovement.cause == Cause.HANDLING)) or ""
    with pytest.raises(Conflict) as caught:
        undoing.take_act_back(session, ANA, act=act, reason="found", today=TODAY)
    assert load.code in str(caught.value)


def test_many_who_send_the_same_load_send_it_once(engine: Engine, session: Session, yard: Yard) -> None:
    load_id, own_id = yard.load((yard.own, 120)).id, yard.own.id
    session.commit()

    def go(session: Session, number: int) -> str:
        load = session.get_one(Dispatch, load_id)
        try:
            sending.send(session, f"person {number}", load=load, sent_on=SENT, today=TODAY)
            session.commit()
        except Conflict as refused:
            session.rollback()
            return str(refused)
        return "sent"

    told = together(engine, go)
    session.expire_all()
    assert sorted(told) == sorted(
        ["sent", *["L26-001 was sent already, on 23 Nov 2026. Nothing was written a second time."] * (WRITERS - 1)]
    )
    assert session.get_one(type(yard.own), own_id).alive == 180


def test_a_load_planned_meanwhile_by_another_page_is_not_sent_from_an_old_one(
    session: Session, yard: Yard
) -> None:
    load = yard.load((yard.own, 120))
    seen = load.version
    planning.change_line(session, ANA, line=load.lines[0], plants=20)
    with pytest.raises(Conflict):
        sending.send(session, ANA, load=load, sent_on=SENT, today=TODAY, version=seen)
    assert yard.own.alive == 300
