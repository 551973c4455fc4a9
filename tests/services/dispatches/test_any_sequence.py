"""Whatever becomes of loads in whatever order: plants in = alive + lost + dispatched, and no plant that came back
is alive, or stands at its site, before somebody has decided."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Batch, Dispatch, DispatchLine, PlantMovement, ReturnedPlants, Site
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.planning.growing.words import Cause, Stage
from nursery.services import batches
from nursery.services.batches.sums import PlantSums
from nursery.services.dispatches import direct, planning, receiving, reserving, returning, sending, undoing
from nursery.services.dispatches.sums import line_sums
from nursery.services.flows.sent import read_sent_plants
from tests.services.batches.test_any_sequence import ANA, TODAY, begun

days = st.sampled_from([0, 0, 0, 1, 3])
picks = st.integers(0, 9)
plants = st.one_of(st.integers(1, 60), st.integers(0, 200))
actions = st.one_of(
    st.tuples(st.just("plan"), picks, st.lists(st.tuples(picks, plants), min_size=1, max_size=3)),
    st.tuples(st.just("send"), picks, st.lists(plants, max_size=3)),
    st.tuples(st.just("send"), picks, st.just([])),
    st.tuples(st.just("receive"), picks, st.lists(plants, max_size=3)),
    st.tuples(st.just("return"), picks, plants),
    st.tuples(st.just("decide"), picks, st.sampled_from(ReturnDecision)),
    st.tuples(st.just("undo"), picks, st.just(0)),
    st.tuples(st.just("strike"), picks, st.just(0)),
    st.tuples(st.just("cancel"), picks, st.just(0)),
    st.tuples(st.just("unreceive"), picks, st.just(0)),
    st.tuples(st.just("take back"), picks, st.just(0)),
    st.tuples(st.just("direct"), picks, plants),
    st.tuples(st.just("direct back"), picks, plants),
    st.tuples(st.just("act back"), picks, st.just(0)),
    st.tuples(st.just("lose"), picks, plants),
    st.tuples(st.just("count"), picks, plants),
)


def act(session: Session, action: tuple[Any, ...], days_ago: int) -> None:
    name, first, second = action
    day = TODAY - dt.timedelta(days_ago)
    when = {"happened_on": day, "today": TODAY}
    every = session.scalars(select(Batch).order_by(Batch.id)).all()
    batch = every[first % len(every)]
    site = session.scalars(select(Site).order_by(Site.id)).all()[first % 2]
    loads = session.scalars(select(Dispatch).order_by(Dispatch.id)).all()
    lines = session.scalars(select(DispatchLine).order_by(DispatchLine.id)).all()
    rows = session.scalars(select(ReturnedPlants).order_by(ReturnedPlants.id)).all()
    acts = session.scalars(select(PlantMovement.act).distinct().order_by(PlantMovement.act)).all()
    load = loads[first % len(loads)] if loads else None
    line = lines[first % len(lines)] if lines else None
    row = rows[first % len(rows)] if rows else None
    ways: dict[str, Callable[[], Any]] = {
        "plan": lambda: planning.plan_load(
            session, ANA, site_id=site.id, planned_on=day, today=TODAY,
            lines=[{"batch_id": every[one % len(every)].id, "plants": number} for one, number in second],
        ),
        "lose": lambda: batches.lose(session, ANA, batch=batch, plants=second, cause=Cause.FROST, **when),
        "count": lambda: batches.record_count(
            session, ANA, batch=batch, stage=Stage.GROWING, counted_on=day, today=TODAY, plants=second
        ),
        "direct": lambda: direct.send_directly(session, ANA, batch=batch, site_id=site.id, plants=second, **when),
        "direct back": lambda: direct.bring_back_directly(
            session, ANA, batch=batch, site_id=site.id, plants=second, **when
        ),
        "act back": lambda: undoing.take_act_back(
            session, ANA, act=acts[first % len(acts)], reason="slip", today=TODAY
        ),
    }  # fmt: skip
    if load is not None:
        some = dict(zip([one.id for one in load.lines], second, strict=False)) if isinstance(second, list) else {}
        ways |= {
            "send": lambda: sending.send(
                session, ANA, load=load, sent_on=day, today=TODAY, sent=some or None,
                rest=list(sending.Rest)[first % 2],
            ),
            "receive": lambda: receiving.receive(
                session, ANA, load=load, received_on=TODAY, received_by="Rui", today=TODAY, received=some or None
            ),
            "cancel": lambda: planning.cancel_load(session, ANA, load=load, reason="rain"),
            "unreceive": lambda: receiving.take_receipt_back(session, ANA, load=load, reason="slip", today=TODAY),
            "take back": lambda: sending.take_back(session, ANA, load=load, reason="slip", today=TODAY),
        }  # fmt: skip
    if line is not None:
        ways["return"] = lambda: returning.note_return(
            session, ANA, line=line, plants=second, returned_on=TODAY, today=TODAY
        )
    if row is not None:
        ways |= {
            "decide": lambda: returning.decide(
                session, ANA, row=row, decision=second, reason="looked at", decided_on=TODAY, today=TODAY
            ),
            "undo": lambda: returning.undo_decision(session, ANA, row=row, reason="slip", today=TODAY),
            "strike": lambda: returning.withdraw_return(session, ANA, row=row, today=TODAY),
        }
    if name in ways:
        ways[name]()


def check(session: Session) -> None:
    """Everything that must always hold."""
    session.expire_all()
    assert batches.wrong_plant_balances(session) == []
    sums = batches.plant_sums(session)
    lines = session.scalars(select(DispatchLine)).all()
    told = read_sent_plants(session)
    for batch in session.scalars(select(Batch)):
        own = sums.get(batch.id, PlantSums())
        mine = [line for line in lines if line.batch_id == batch.id]
        assert own.came == batch.alive + own.lost + own.dispatched
        assert min(batch.alive, own.lost, own.dispatched) >= 0
        # The loads tell the same as the ledger: what is at sites, and what waits and is nowhere.
        at_sites, waiting = (
            sum(getattr(line_sums(line), name) for line in mine) for name in ("at_site", "waiting")
        )
        assert own.dispatched == at_sites + waiting
        there = batches.dispatched_to(session, batch)
        assert (sum(there.values()), min(there.values(), default=0) >= 0) == (at_sites, True)
        assert sum(one.plants for one in told if one.batch_id == batch.id) == at_sites
    for load in session.scalars(select(Dispatch)):
        for line in load.lines:
            one = line_sums(line)
            assert min(one.at_site, one.missing, one.returned, one.waiting) >= 0
            assert (line.sent is None) == (load.status in {DispatchStatus.PLANNED, DispatchStatus.CANCELLED})
            assert bool(line.act) == bool(line.sent)
            if load.status is DispatchStatus.RECEIVED:
                assert one.sent >= one.received + one.missing
    kept = reserving.reserved(session)
    planned = [load for load in session.scalars(select(Dispatch)) if load.status is DispatchStatus.PLANNED]
    warned = {batch.id for load in planned for batch, _asked in planning.overbooked(session, load)}
    alive = {row.id: row.alive for row in session.execute(select(Batch.id, Batch.alive))}
    assert warned == {batch_id for batch_id, number in kept.items() if number > alive[batch_id]}


def state(session: Session) -> tuple[Any, ...]:
    tables = (PlantMovement, Dispatch, DispatchLine, ReturnedPlants)
    counted = [session.scalar(select(func.count(model.id))) for model in tables]
    lines = session.execute(select(DispatchLine.id, DispatchLine.sent, DispatchLine.received)).all()
    loads = session.execute(select(Dispatch.id, Dispatch.status, Dispatch.version)).all()
    return (*counted, session.execute(select(Batch.id, Batch.alive, Batch.trays)).all(), lines, loads)


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(st.tuples(actions, days), min_size=5, max_size=25))
def test_no_sequence_of_acts_breaks_the_balance_or_lets_returned_plants_in(
    engine: Engine, sequence: list[Any]
) -> None:
    with begun(engine) as session:
        session.flush()
        for action, days_ago in sequence:
            session.expire_all()
            before = state(session)
            try:
                act(session, action, days_ago)
            except (Invalid, Conflict):
                session.expire_all()
                assert state(session) == before  # refused whole
            check(session)
