"""From lot by way of batches to sites, and back: shares through splits and mergers, and no plant told twice."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Batch, Lot, Planting, Site
from nursery.planning.growing.words import Stage
from nursery.services import batches
from nursery.services.flows import follow_batch, follow_lot, follow_stand, trace_site
from tests.services.batches.test_any_sequence import ANA, TODAY, WHEN, act, actions, begun

Lots = dict[str, float]


def lots_at(session: Session, site: Site) -> tuple[Lots, Lots]:
    """Plants by lot that were sent to a site, and that stand there, as traced back from it."""
    trace = trace_site(session, None, site.id)
    return tuple(  # type: ignore[return-value]
        {part.lot.code: part.share * origins.plants for part in origins.lots if part.collected}
        for origins in (trace.sent, trace.planted)
    )


@pytest.fixture
def merged(session: Session, maker: Any) -> tuple[Batch, Site]:
    """A batch merged of 60 plants of one lot and 40 of another of the same stand; 50 of it sent to a site."""
    stand = maker.population(code="P-1")
    container, site = maker.container(), maker.site(code="S-1")
    parts = []
    for code, plants in (("L/A", 60), ("L/B", 40)):
        lot = maker.lot(code=code, population=stand, pieces=500)
        batch = batches.sow(
            session, ANA, lot=lot, seeds=200, trays=5, container_id=container.id, method="direct", protocol="",
            sown_on=dt.date(2026, 11, 1), today=TODAY,
        )  # fmt: skip
        batches.record_count(
            session, ANA, batch=batch, stage=Stage.EMERGED, counted_on=TODAY, today=TODAY, plants=plants
        )
        parts.append(batch)
    made = batches.merge(session, ANA, batches=parts, **WHEN)
    batches.dispatch(session, ANA, batch=made, site_id=site.id, plants=50, **WHEN)
    session.flush()
    return made, site


def test_what_a_merged_batch_sent_is_traced_back_in_its_shares(
    session: Session, merged: tuple[Batch, Site]
) -> None:
    _batch, site = merged

    assert lots_at(session, site) == (pytest.approx({"L/A": 30.0, "L/B": 20.0}), {})


def test_what_was_planted_of_it_is_told_once(session: Session, merged: tuple[Batch, Site]) -> None:
    batch, site = merged
    lot = session.scalars(select(Lot).where(Lot.code == "L/A")).one()
    session.add(Planting(site_id=site.id, lot_id=lot.id, batch_id=batch.id, planted_on=TODAY, plants=45))
    session.flush()

    sent, planted = lots_at(session, site)

    assert sent == pytest.approx({"L/A": 3.0, "L/B": 2.0})
    assert planted == pytest.approx({"L/A": 27.0, "L/B": 18.0})
    onward = follow_lot(session, None, lot.id)[1]
    assert (onward.planted, onward.dispatched, onward.growing) == pytest.approx((27.0, 3.0, 30.0))
    assert follow_batch(session, batch.id).gone == pytest.approx(50.0)


def test_what_came_back_is_no_longer_at_the_site(session: Session, merged: tuple[Batch, Site]) -> None:
    batch, site = merged
    batches.bring_back(session, ANA, batch=batch, site_id=site.id, plants=10, **WHEN)

    assert lots_at(session, site)[0] == pytest.approx({"L/A": 24.0, "L/B": 16.0})


def test_a_stand_is_followed_through_its_batches(session: Session, merged: tuple[Batch, Site]) -> None:
    batch, site = merged
    stand = session.scalars(select(Lot).where(Lot.code == "L/A")).one().population_id

    onward = follow_stand(session, None, stand)[1]

    assert (onward.dispatched, onward.growing) == pytest.approx((50.0, 50.0))
    assert {facts.code for facts, _share in onward.batches} == {"B26-001", "B26-002", batch.code}
    assert {row.site_id for row in onward.sent} == {site.id}


def test_a_part_of_a_batch_is_followed_from_the_batch(session: Session, merged: tuple[Batch, Site]) -> None:
    batch, _site = merged
    source = session.scalars(select(Batch).where(Batch.code == "B26-001")).one()
    batches.split(session, ANA, batch=batch, plants=20, trays=2, **WHEN)

    onward = follow_batch(session, source.id)

    assert {facts.code: share for facts, share in onward.batches} == pytest.approx(
        {"B26-001": 1.0, "B26-003": 0.6, "B26-004": 0.6}
    )
    assert (onward.alive, onward.gone) == pytest.approx((30.0, 30.0))
    assert [(lot.code, share) for lot, share in onward.lots] == [("L/A", 1.0)]


@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(actions, min_size=6, max_size=20))
def test_forward_and_back_tell_the_same_after_any_acts(engine: Engine, sequence: list[Any]) -> None:
    with begun(engine) as session:
        for action in sequence:
            try:
                act(session, action)
            except (Invalid, Conflict):
                session.expire_all()
        session.expire_all()
        every = session.scalars(select(Batch)).all()
        sent = {
            site.code: plants for site in session.scalars(select(Site)) for plants in [lots_at(session, site)[0]]
        }
        gone = sum(sum(batches.dispatched_to(session, batch).values()) for batch in every)
        assert sum(sum(plants.values()) for plants in sent.values()) == pytest.approx(gone)
        for lot in session.scalars(select(Lot)):
            onward = follow_lot(session, None, lot.id)[1]
            assert onward.dispatched == pytest.approx(sum(plants.get(lot.code, 0.0) for plants in sent.values()))
        lots = session.scalars(select(Lot)).all()
        growing = sum(follow_lot(session, None, lot.id)[1].growing for lot in lots)
        assert growing == pytest.approx(sum(batch.alive for batch in every))
