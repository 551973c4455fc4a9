"""What the weeks ahead take, how stocks run, and what to order by when."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Container, SupplyMovement
from nursery.models.supplies import SupplyKind, SupplyMovementKind, SupplyUnit
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.services.supplies.booking import book_sowings, unbooked
from nursery.services.supplies.needs import Needs, read_needs
from nursery.services.supplies.outlook import Store, read_store
from nursery.services.supplies.stock import balance, move
from tests.conftest import Maker
from tests.plan_lines import add_line, make_kept_plan, phases_of
from tests.supplies import a_supply

TODAY = dt.date(2026, 11, 25)
MONDAY = dt.date(2026, 11, 23)
LATER = dt.date(2026, 12, 14)  # the Monday of week 3


@pytest.fixture
def tray(maker: Maker) -> Container:
    """Forty cells of 300 cm³: 14.4 l of loose substrate."""
    container: Container = maker.container()
    return container


def needs(session: Session) -> Needs:
    session.flush()
    session.expire_all()
    return read_needs(session, today=TODAY, weeks=12)


def store(session: Session) -> Store:
    session.flush()
    session.expire_all()
    return read_store(session, today=TODAY)


def where(amounts: Any) -> dict[int, float]:
    """Weeks with anything, by their number."""
    return {week: round(float(amounts[week]), 6) for week in np.flatnonzero(amounts).tolist()}


def test_a_line_fills_its_trays_when_it_is_sown_and_gives_them_back_when_it_is_planted(
    session: Session, maker: Maker, tray: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    add_line(
        maker, plan, phases_of(MONDAY, ("cold-stratify", 21), ("emergence", 14), ("growing", 14)), trays=10,
        container_id=tray.id, plants_to_plant=350,
    )  # fmt: skip
    found = needs(session)
    assert found.containers == [tray.id]
    assert (where(found.filled[0]), where(found.back[0])) == ({3: 10.0}, {7: 10.0})
    assert where(found.full[0]) == {3: 10.0, 4: 10.0, 5: 10.0, 6: 10.0}
    assert (where(found.litres), where(found.sown)) == ({3: 144.0}, {3: 350.0})
    assert where(found.fed) == dict.fromkeys((3, 4, 5, 6), 87.5)


def test_what_is_pricked_out_fills_flats_first_and_trays_later(
    session: Session, maker: Maker, tray: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    add_line(
        maker, plan, phases_of(LATER, ("emergence", 14), ("pricking-out", 7), ("growing", 14)), trays=10,
        container_id=tray.id, method=Method.PRICKED_OUT, seeds=960,
    )  # fmt: skip
    found = needs(session)
    assert where(found.filled[0]) == {5: 10.0}
    assert where(found.litres) == {3: 24.0, 5: 144.0}


def test_trays_of_a_batch_are_full_already_and_come_back_when_it_leaves(
    session: Session, maker: Maker, tray: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    line = add_line(maker, plan, phases_of(MONDAY, ("growing", 21)), container_id=tray.id)
    maker.batch(
        line_id=line.id, container_id=tray.id, trays=8, seeds=960, sown_on=TODAY, stage=Stage.GROWING, alive=280
    )
    found = needs(session)
    assert (where(found.filled[0]), where(found.back[0])) == ({}, {3: 8.0})
    assert (where(found.full[0]), where(found.litres)) == ({0: 8.0, 1: 8.0, 2: 8.0}, {})


def test_a_batch_in_flats_fills_its_trays_when_it_is_pricked_out(
    session: Session, maker: Maker, tray: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    line = add_line(
        maker, plan, phases_of(MONDAY, ("emergence", 14), ("pricking-out", 7), ("growing", 35)),
        container_id=tray.id, method=Method.PRICKED_OUT, trays=10, seeds=960,
    )  # fmt: skip
    maker.batch(
        line_id=line.id, method=Method.PRICKED_OUT, trays=1, cells_per_tray=None, seeds=480, sown_on=MONDAY
    )
    found = needs(session)
    # Half the seed is sown: five trays at pricking out, and five that are still to be sown by the plan.
    assert where(found.filled[0]) == {2: 10.0}
    assert where(found.back[0]) == {8: 10.0}


def test_substrate_is_ordered_before_it_falls_below_its_safety_stock(
    session: Session, maker: Maker, tray: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    add_line(maker, plan, phases_of(LATER, ("emergence", 60)), container_id=tray.id, trays=10)
    mix = a_supply(session, pack=70.0, price_per_pack=9.5, lead_days=12, safety_stock=100.0)
    move(session, "Ana", supply=mix, kind=SupplyMovementKind.COUNTED, amount=150.0, happened_on=TODAY, today=TODAY)
    (outlook,) = store(session).outlooks
    assert (outlook.stock, outlook.low_from) == (150.0, 3)
    assert [round(float(left), 6) for left in outlook.level[2:4]] == [150.0, 6.0]
    (order,) = outlook.orders
    # 94 l are missing to the safety stock: two packs, twelve days before the Monday of that week.
    assert (order.packs, order.order_on, order.needed_in.monday) == (2, dt.date(2026, 12, 2), LATER)
    assert (order.amount, order.price, order.is_late) == (140.0, 19.0, False)
    assert round(float(outlook.with_orders[3]), 6) == 146.0


def test_an_order_whose_day_is_past_says_so(session: Session, maker: Maker, tray: Container) -> None:
    plan = make_kept_plan(session, TODAY)
    add_line(maker, plan, phases_of(LATER, ("emergence", 60)), container_id=tray.id)
    a_supply(session, pack=70.0, lead_days=30)
    (order,) = store(session).orders
    assert (order.is_late, order.price) == (True, None)


def test_trays_are_those_that_stand_full_against_those_that_there_are(
    session: Session, maker: Maker, tray: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    for start in (LATER, LATER + dt.timedelta(days=28)):
        add_line(maker, plan, phases_of(start, ("growing", 28)), container_id=tray.id, trays=10)
    trays = a_supply(session, name="Trays", kind=SupplyKind.CONTAINER, container_id=tray.id, pack=4.0)
    tray.trays_owned = 12
    outlook = store(session).outlooks[0]
    # Never counted: as the container's record has them. The ten of the first line come back for the second.
    assert (outlook.stock, outlook.low_from, list(outlook.orders)) == (12.0, None, [])
    move(session, "Ana", supply=trays, kind=SupplyMovementKind.COUNTED, amount=3, happened_on=TODAY, today=TODAY)
    (order,) = store(session).orders
    assert (order.packs, order.amount) == (2, 8.0)


def test_labels_follow_the_plants_sown_and_feed_their_weeks(
    session: Session, maker: Maker, tray: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    add_line(maker, plan, phases_of(LATER, ("growing", 28)), container_id=tray.id, trays=10, plants_to_plant=2000)
    a_supply(session, name="Labels", kind=SupplyKind.LABEL, use_per_1000_plants=30.0)
    a_supply(session, name="Feed", kind=SupplyKind.FEED, unit=SupplyUnit.KILOGRAMS, use_per_1000_plants=2.0)
    a_supply(session, name="Gloves", kind=SupplyKind.OTHER, unit=SupplyUnit.PIECES)
    feed, gloves, labels = (outlook.level for outlook in store(session).outlooks)
    assert [round(float(left), 6) for left in labels[2:5]] == [0.0, -60.0, -60.0]
    assert [round(float(left), 6) for left in feed[2:8]] == [0.0, -1.0, -2.0, -3.0, -4.0, -4.0]
    assert not gloves.any()


def test_two_substrates_share_the_need(session: Session, maker: Maker, tray: Container) -> None:
    plan = make_kept_plan(session, TODAY)
    add_line(maker, plan, phases_of(LATER, ("growing", 28)), container_id=tray.id, trays=10)
    for name in ("Bark mix", "Coir mix"):
        a_supply(session, name=name)
    found = store(session)
    assert [float(outlook.level[3]) for outlook in found.outlooks] == pytest.approx([-72.0, -72.0])
    assert found.substrates == 2


def test_sowings_since_the_count_are_booked_once(session: Session, maker: Maker, tray: Container) -> None:
    mix = a_supply(session)
    earlier = maker.batch(container_id=tray.id, sown_on=dt.date(2026, 11, 2))
    later = maker.batch(container_id=tray.id, sown_on=dt.date(2026, 11, 20), trays=5)
    assert unbooked(session, mix, today=TODAY) == []  # never counted
    counted_on = dt.date(2026, 11, 10)
    move(
        session,
        "Ana",
        supply=mix,
        kind=SupplyMovementKind.COUNTED,
        amount=100,
        happened_on=counted_on,
        today=TODAY,
    )
    assert unbooked(session, mix, today=TODAY) == [(later, 72.0)]
    assert book_sowings(session, "Ana", supply=mix, today=TODAY) == 72.0
    assert balance(session, mix) == 28.0
    booked = session.scalars(select(SupplyMovement.batch_id).where(SupplyMovement.change < 0)).all()
    assert (booked, earlier.id in booked) == ([later.id], False)
    with pytest.raises(Invalid):
        book_sowings(session, "Ana", supply=mix, today=TODAY)


def test_more_than_there_is_is_not_booked(session: Session, maker: Maker, tray: Container) -> None:
    mix = a_supply(session)
    maker.batch(container_id=tray.id, sown_on=dt.date(2026, 11, 20))
    move(
        session, "Ana", supply=mix, kind=SupplyMovementKind.COUNTED, amount=10,
        happened_on=dt.date(2026, 11, 10), today=TODAY,
    )  # fmt: skip
    with pytest.raises(Invalid):
        book_sowings(session, "Ana", supply=mix, today=TODAY)


def test_it_costs_the_same_queries_for_one_supply_and_for_three(
    session: Session, engine: Any, maker: Maker, tray: Container, count_queries: Any
) -> None:
    plan = make_kept_plan(session, TODAY)
    add_line(maker, plan, phases_of(LATER, ("growing", 28)), container_id=tray.id)
    found = []
    for number in range(3):
        a_supply(session, name=f"Mix {number}")
        maker.batch(container_id=tray.id)
        session.flush()
        session.expire_all()
        with count_queries(engine) as statements:
            read_store(session, today=TODAY)
        found.append(len(statements))
    assert found == [found[0]] * 3
