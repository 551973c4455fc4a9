"""The ledger of supplies: what is refused, what is summed, what is never below nothing."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Supply, SupplyMovement
from nursery.models.supplies import SupplyKind, SupplyMovementKind, SupplyUnit
from nursery.services.supplies.records import change_supply
from nursery.services.supplies.stock import balance, move, read_stock_ledger
from tests.supplies import a_supply

TODAY = dt.date(2026, 11, 25)
COUNTED, RECEIVED, USED, DISCARDED = SupplyMovementKind


def put(session: Session, supply: Supply, kind: SupplyMovementKind, amount: float, **more: Any) -> Any:
    given = {"happened_on": TODAY, "reason": "why", **more}
    return move(session, "Ana", supply=supply, kind=kind, amount=amount, today=TODAY, **given)


def test_a_count_sets_what_there_is_and_the_rest_adds_and_takes(session: Session) -> None:
    supply = a_supply(session)
    for kind, amount in ((COUNTED, 100.0), (RECEIVED, 70.0), (USED, 30.5), (DISCARDED, 9.5), (COUNTED, 128.0)):
        put(session, supply, kind, amount)
    assert balance(session, supply) == 128.0
    assert [(entry.row.change, entry.balance) for entry in read_stock_ledger(session, supply)] == [
        (-2.0, 128.0), (-9.5, 130.0), (-30.5, 139.5), (70.0, 170.0), (100.0, 100.0),
    ]  # fmt: skip


def test_a_count_that_finds_what_the_ledger_tells_adds_no_row(session: Session) -> None:
    supply = a_supply(session)
    put(session, supply, COUNTED, 100.0)
    assert put(session, supply, COUNTED, 100.0) is None
    assert session.scalar(select(func.count(SupplyMovement.id))) == 1


@pytest.mark.parametrize("kind", [USED, DISCARDED])
def test_more_than_there_is_cannot_leave(session: Session, kind: SupplyMovementKind) -> None:
    supply = a_supply(session, name="Bark mix")
    put(session, supply, COUNTED, 10.0)
    with pytest.raises(Invalid) as refused:
        put(session, supply, kind, 10.5)
    assert refused.value.errors == {
        "amount": "There are 10 l of Bark mix; 10.5 l cannot leave. Correct the amount, or count the stock first."
    }


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("amount", {"amount": 0.0}),
        ("happened_on", {"happened_on": dt.date(2026, 11, 26)}),
        ("happened_on", {"happened_on": dt.date(1926, 11, 26)}),
        ("cost", {"cost": -1.0}),
        ("reason", {"kind": DISCARDED, "reason": " ", "amount": 1.0}),
    ],
)
def test_slips_are_refused_at_their_field(session: Session, field: str, change: dict[str, Any]) -> None:
    supply = a_supply(session)
    put(session, supply, COUNTED, 10.0)
    given = {"kind": RECEIVED, "amount": 5.0, **change}
    with pytest.raises(Invalid) as refused:
        put(session, supply, given.pop("kind"), given.pop("amount"), **given)
    assert list(refused.value.errors) == [field]
    assert balance(session, supply) == 10.0


def test_rows_are_only_added(session: Session) -> None:
    put(session, a_supply(session), COUNTED, 10.0)
    session.commit()
    row = session.scalars(select(SupplyMovement)).one()
    row.change = 20.0
    with pytest.raises(DatabaseError):
        session.flush()


def test_what_was_paid_stands_only_with_what_came(session: Session) -> None:
    supply = a_supply(session)
    assert put(session, supply, RECEIVED, 70.0, cost=9.5).cost == 9.5
    for kind in (COUNTED, USED, DISCARDED):
        with pytest.raises(Invalid) as refused:
            put(session, supply, kind, 60.0, cost=9.5)
        assert list(refused.value.errors) == ["cost"]
    assert balance(session, supply) == 70.0


@pytest.mark.parametrize("kind", list(SupplyMovementKind))
def test_what_happened_before_the_last_count_is_in_that_count(session: Session, kind: SupplyMovementKind) -> None:
    supply = a_supply(session)
    counted_on = dt.date(2026, 11, 13)
    put(session, supply, COUNTED, 10.0, happened_on=counted_on)
    with pytest.raises(Invalid) as refused:
        put(session, supply, kind, 4.0, happened_on=dt.date(2026, 11, 12))
    assert list(refused.value.errors) == ["happened_on"]
    assert "13 Nov 2026" in refused.value.errors["happened_on"]
    assert balance(session, supply) == 10.0
    assert put(session, supply, RECEIVED, 4.0, happened_on=counted_on) is not None


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(list(SupplyMovementKind)), st.floats(0, 500)), max_size=12))
def test_no_sequence_brings_the_stock_below_nothing_nor_breaks_the_sum(
    session: Session, acts: list[tuple[SupplyMovementKind, float]]
) -> None:
    supply = a_supply(session)
    held = 0.0
    for kind, amount in acts:
        try:
            put(session, supply, kind, amount)
        except Invalid:
            continue
        put_down = round(amount, 3)
        held = put_down if kind is COUNTED else held + put_down if kind is RECEIVED else held - put_down
        held = round(held, 3)
        assert held >= 0
        assert balance(session, supply) == held
    session.rollback()


def test_kinds_know_their_unit_and_only_containers_have_one(session: Session, maker: Any) -> None:
    tray = maker.container()
    mix = a_supply(session, unit=SupplyUnit.PIECES, container_id=tray.id)
    trays = a_supply(session, name="Trays", kind=SupplyKind.CONTAINER, container_id=tray.id)
    feed = a_supply(session, name="Feed", kind=SupplyKind.FEED, unit=SupplyUnit.KILOGRAMS)
    assert [(row.unit, row.container_id) for row in (mix, trays, feed)] == [
        (SupplyUnit.LITRES, None),
        (SupplyUnit.PIECES, tray.id),
        (SupplyUnit.KILOGRAMS, None),
    ]
    assert (mix.pack, mix.lead_days, mix.safety_stock) == (1.0, 14, 0.0)


def test_a_container_must_say_which(session: Session) -> None:
    with pytest.raises(Invalid) as refused:
        a_supply(session, kind=SupplyKind.CONTAINER)
    assert list(refused.value.errors) == ["container_id"]


def test_the_unit_of_a_ledger_stays(session: Session) -> None:
    feed = a_supply(session, kind=SupplyKind.FEED, unit=SupplyUnit.KILOGRAMS)
    put(session, feed, COUNTED, 10.0)
    with pytest.raises(Conflict):
        change_supply(session, "Ana", row=feed, values={"unit": SupplyUnit.LITRES}, today=TODAY)
    changed = change_supply(session, "Ana", row=feed, values={"safety_stock": 5.0}, today=TODAY)
    assert (changed.safety_stock, changed.unit) == (5.0, SupplyUnit.KILOGRAMS)


def test_the_same_name_twice_is_refused(session: Session) -> None:
    a_supply(session, name="Bark mix")
    with pytest.raises(Invalid) as refused:
        a_supply(session, name="Bark mix")
    assert list(refused.value.errors) == ["name"]
