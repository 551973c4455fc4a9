from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Lot
from nursery.models.decisions import DecisionKind
from nursery.models.dispatches import DispatchStatus
from nursery.models.recipients import Recipient, RecipientKind
from nursery.planning.growing.words import Stage
from nursery.services.dispatches import planning, proposing, reading, reserving, substituting
from nursery.services.health.quarantine import quarantine
from nursery.services.origin.decisions import decide
from tests.services.dispatches.conftest import ANA, SENT, TODAY, Yard


def propose(session: Session, yard: Yard, **values: Any) -> list[tuple[str, int, bool]]:
    (one,) = proposing.propose(session, yard.site, planned_on=SENT, today=TODAY, **values)
    return [(line.batch.code, line.plants, line.is_own) for line in one.lines]


def test_a_targets_own_batch_is_proposed_first_and_a_free_one_for_the_rest(session: Session, yard: Yard) -> None:
    assert propose(session, yard) == [(yard.own.code, 300, True), (yard.free.code, 100, False)]


def test_what_planned_loads_keep_is_not_proposed_again(session: Session, yard: Yard) -> None:
    yard.load((yard.own, 250))
    assert propose(session, yard) == [(yard.own.code, 50, True), (yard.free.code, 100, False)]
    assert reserving.reserved(session, [yard.own.id, yard.free.id]) == {yard.own.id: 250}


def test_what_was_sent_is_not_proposed_again_until_it_comes_back(session: Session, yard: Yard) -> None:
    yard.sent((yard.own, 300))
    assert propose(session, yard) == [(yard.free.code, 100, False)]


def test_a_batch_in_quarantine_is_not_proposed(session: Session, yard: Yard) -> None:
    quarantine(session, ANA, batch_id=yard.own.id, reason="wilting", since=TODAY, today=TODAY)
    assert propose(session, yard) == [(yard.free.code, 200, False)]


def test_a_target_of_another_season_is_not_served(session: Session, yard: Yard) -> None:
    assert proposing.propose(session, yard.site, planned_on=dt.date(2027, 11, 2), today=TODAY) == []


def test_one_click_makes_a_load_of_all_that_is_proposed(session: Session, yard: Yard) -> None:
    load = proposing.make_load(session, ANA, site=yard.site, planned_on=SENT, today=TODAY)
    assert (load.code, load.status) == ("L26-001", DispatchStatus.PLANNED)
    assert [(line.position, line.batch_id, line.target_id, line.plants) for line in load.lines] == [
        (1, yard.own.id, yard.target.id, 300), (2, yard.free.id, yard.target.id, 100),
    ]  # fmt: skip
    assert (yard.own.alive, yard.free.alive) == (300, 200)  # nothing has moved


def test_the_recipient_follows_from_the_site(session: Session, yard: Yard) -> None:
    crew = Recipient(name="River crew", kind=RecipientKind.PROFESSIONAL)
    session.add(crew)
    session.flush()
    yard.site.recipient_id = crew.id
    assert yard.load().recipient_id == crew.id


def test_a_batch_that_the_rules_of_origin_stop_is_refused_with_the_reason(session: Session, yard: Yard) -> None:
    with pytest.raises(Invalid) as caught:
        yard.load((yard.far, 10))
    assert f"By the rules of origin {yard.far.code} is not for Long bank" in str(caught.value)


@pytest.mark.parametrize("day", [dt.date(1999, 12, 31), TODAY + dt.timedelta(732)])
def test_a_day_that_no_load_is_planned_for_is_refused(session: Session, yard: Yard, day: dt.date) -> None:
    load = yard.load((yard.own, 10))
    with pytest.raises(Invalid) as caught:
        planning.plan_load(session, ANA, site_id=yard.site.id, planned_on=day, today=TODAY)
    with pytest.raises(Invalid) as changed:
        planning.change_load(session, ANA, load=load, values={"planned_on": day}, today=TODAY)
    for refused in (caught, changed):
        assert "is out of range. Give a day from 1 Jan 2000 to" in refused.value.errors["planned_on"]
    last = TODAY + dt.timedelta(731)
    assert (
        planning.change_load(session, ANA, load=load, values={"planned_on": last}, today=TODAY).planned_on == last
    )


def test_a_batch_stands_in_neither_for_itself_nor_before_it_has_grown(session: Session, yard: Yard) -> None:
    line = yard.load((yard.own, 10)).lines[0]
    yard.free.stage = Stage.EMERGED
    session.flush()
    for batch, told in (
        (yard.own, f"{yard.own.code} is in L26-001 already. Change the number of plants there."),
        (
            yard.free,
            f"{yard.free.code} is too young to go to a site: its stage is “Emerged”. Choose another batch.",
        ),
    ):
        with pytest.raises(Invalid) as caught:
            substituting.substitute(session, ANA, line=line, batch_id=batch.id, reason="frost", today=TODAY)
        assert caught.value.errors == {"batch_id": told}
    assert (line.batch_id, line.substitutes_id) == (yard.own.id, None)


def test_an_override_lets_it_go(session: Session, yard: Yard) -> None:
    decide(
        session, ANA, lot=session.get_one(Lot, yard.far.lot_id), site=yard.site, kind=DecisionKind.OVERRIDE,
        reason="no other seed of this species is left", today=TODAY,
    )  # fmt: skip
    load = yard.load((yard.far, 10))
    assert [line.batch_id for line in load.lines] == [yard.far.id]


@pytest.mark.parametrize("plants", [0, -3, 10_000_001])
def test_a_number_that_is_none_is_refused(yard: Yard, plants: int) -> None:
    with pytest.raises(Invalid) as caught:
        yard.load((yard.own, plants))
    assert set(caught.value.errors) == {"plants"}


def test_the_same_batch_is_not_picked_twice_for_one_target(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 10))
    with pytest.raises(Invalid) as caught:
        planning.add_line(session, ANA, load=load, batch_id=yard.own.id, plants=5, today=TODAY)
    assert f"{yard.own.code} is in {load.code} already." in str(caught.value)


def test_more_than_is_alive_is_planned_with_a_warning(session: Session, yard: Yard) -> None:
    first, second = yard.load((yard.own, 200)), yard.load((yard.own, 150))
    assert planning.overbooked(session, second) == [(yard.own, 350)]
    planning.cancel_load(session, ANA, load=first, reason="the track is flooded")
    assert planning.overbooked(session, second) == []


def test_a_line_changes_moves_and_goes(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 10), (yard.free, 20))
    own, free = load.lines
    planning.change_line(session, ANA, line=own, plants=15, grade="large")
    planning.move_line(session, ANA, line=own, earlier=False)
    assert [(line.batch_id, line.position, line.plants, line.grade) for line in load.lines] == [
        (yard.free.id, 1, 20, ""), (yard.own.id, 2, 15, "large"),
    ]  # fmt: skip
    planning.remove_line(session, ANA, line=free)
    assert [line.batch_id for line in load.lines] == [yard.own.id]


def test_cancelling_needs_a_reason_and_frees_the_plants(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 250))
    with pytest.raises(Invalid):
        planning.cancel_load(session, ANA, load=load, reason=" ")
    planning.cancel_load(session, ANA, load=load, reason="the track is flooded")
    assert (load.status, load.reason) == (DispatchStatus.CANCELLED, "the track is flooded")
    assert reserving.reserved(session, [yard.own.id]) == {}
    with pytest.raises(Conflict):
        planning.add_line(session, ANA, load=load, batch_id=yard.free.id, plants=5, today=TODAY)


def test_a_page_of_before_overwrites_nothing(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 10))
    seen = load.version
    planning.change_line(session, ANA, line=load.lines[0], plants=15)
    with pytest.raises(Conflict):
        planning.cancel_load(session, ANA, load=load, reason="rain", version=seen)
    assert load.status is DispatchStatus.PLANNED


def test_another_batch_stands_in_with_a_reason(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 80))
    line = substituting.substitute(
        session, ANA, line=load.lines[0], batch_id=yard.free.id, reason="the first froze", today=TODAY
    )
    assert (line.batch_id, line.substitutes_id, line.reason) == (yard.free.id, yard.own.id, "the first froze")
    assert [(one.batch_id, one.plants) for one in load.lines] == [(yard.free.id, 80)]


def test_the_first_batch_again_is_no_substitute(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 80))
    for batch in (yard.free, yard.own):
        line = substituting.substitute(
            session, ANA, line=load.lines[0], batch_id=batch.id, reason="the first froze", today=TODAY
        )
    assert (line.batch_id, line.substitutes_id, line.reason) == (yard.own.id, None, "")


def test_stand_ins_are_offered_only_where_the_rules_let_them(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 80))
    stands = substituting.stand_ins(session, load.lines[0], today=TODAY)
    assert [(one.batch.code, one.free, one.is_offered) for one in stands] == [
        (yard.free.code, 200, True), (yard.far.code, 100, False),
    ]  # fmt: skip
    assert stands[1].judged.reason
    with pytest.raises(Invalid) as caught:
        substituting.substitute(
            session, ANA, line=load.lines[0], batch_id=yard.far.id, reason="the first froze", today=TODAY
        )
    assert set(caught.value.errors) == {"batch_id"}
    with pytest.raises(Invalid) as caught:
        substituting.substitute(session, ANA, line=load.lines[0], batch_id=yard.free.id, reason="", today=TODAY)
    assert set(caught.value.errors) == {"reason"}


def test_loads_are_found_by_site_and_season(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 80))
    other = yard.maker.site()
    assert list(reading.loads_of(session, site_id=yard.site.id, season=2026)) == [load]
    assert list(reading.loads_of(session, site_id=other.id)) == []
    assert list(reading.loads_of(session, season=2027)) == []


def test_reading_a_load_takes_as_many_statements_whatever_its_length(
    session: Session, yard: Yard, count_queries: Any, engine: Engine
) -> None:
    short, long = yard.load((yard.own, 10)), yard.load((yard.own, 10), (yard.free, 20))
    ids = short.id, long.id
    session.commit()
    took = []
    for load_id in ids:
        session.expunge_all()
        with count_queries(engine) as seen:
            load = reading.get_load(session, load_id)
            assert [line.batch.species.scientific_name for line in load.lines]
        took.append(len(seen))
    assert took[0] == took[1]
