"""Since when a lot lies where it lies, and what its places did to it."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Lot
from nursery.models.lots import Material
from nursery.models.seed_tests import TestKind
from nursery.services.catalogue import effective_entries
from nursery.services.ledger import mix_lots, split_lot
from nursery.services.lot_figures import lot_figures, lot_row
from nursery.services.lots import change_lot
from nursery.services.planning import gather
from nursery.services.seed_tests import record_test, withdraw_test

PUT = dt.date(2026, 11, 2)


@pytest.fixture
def freezer(maker: Any) -> int:
    return int(maker.place(temperature_c=-18.0).id)


@pytest.fixture
def fridge(maker: Any) -> int:
    return int(maker.place(temperature_c=3.0).id)


@pytest.fixture
def acorns(maker: Any) -> Lot:
    lot: Lot = maker.lot(germination=0.8, tested_on=dt.date(2026, 10, 30))
    return lot


def move(session: Session, lot: Lot, place: int, today: dt.date, **more: Any) -> None:
    values = {"population_id": lot.population_id, "collected_on": lot.collected_on, "pieces": lot.pieces}
    values |= {"species_id": lot.species_id, "ripening_year": lot.ripening_year, "amount_mg": lot.amount_mg}
    change_lot(session, "Ana", row=lot, values={**values, "storage_place_id": place, **more}, today=today)


def harm(session: Session, lot: Lot) -> str:
    session.expire(lot, ["storage_place"])
    entries = effective_entries(session, [lot.species_id])
    return str(lot_figures(lot_row(lot), entries)["harm"].iloc[0])


def test_a_move_is_dated_and_acorns_in_the_freezer_are_lost_until_a_test_finds_life(
    session: Session, acorns: Lot, freezer: int, today: dt.date
) -> None:
    move(session, acorns, freezer, PUT)
    assert (acorns.stored_on, harm(session, acorns)) == (PUT, "frozen")

    record_test(
        session, "Ana", lot=acorns, kind=TestKind.TETRAZOLIUM, tested_on=PUT + dt.timedelta(1), today=today,
        readings={"counts": [12], "seeds": 50},
    )  # fmt: skip
    assert harm(session, acorns) == ""


def test_a_test_that_finds_nothing_alive_shows_no_life(
    session: Session, acorns: Lot, freezer: int, today: dt.date
) -> None:
    move(session, acorns, freezer, PUT)
    record_test(
        session, "Ana", lot=acorns, kind=TestKind.TETRAZOLIUM, tested_on=PUT + dt.timedelta(1), today=today,
        readings={"counts": [0], "seeds": 50},
    )  # fmt: skip

    assert harm(session, acorns) == "frozen"


def test_leaving_the_freezer_does_not_bring_acorns_back(
    session: Session, acorns: Lot, freezer: int, fridge: int, today: dt.date
) -> None:
    move(session, acorns, freezer, PUT)
    move(session, acorns, fridge, today)

    assert (acorns.stored_on, acorns.harmed_on, harm(session, acorns)) == (today, today, "before")


def test_a_slip_corrected_on_the_same_day_leaves_no_trace(
    session: Session, acorns: Lot, freezer: int, fridge: int
) -> None:
    move(session, acorns, freezer, PUT)
    move(session, acorns, fridge, PUT)

    assert (acorns.stored_on, acorns.harmed_on, harm(session, acorns)) == (PUT, None, "")


def test_a_day_that_a_person_gives_holds(session: Session, acorns: Lot, freezer: int, today: dt.date) -> None:
    move(session, acorns, freezer, today, stored_on=dt.date(2026, 10, 25))

    # It was tested on the 30th, in the freezer, and found alive.
    assert (acorns.stored_on, harm(session, acorns)) == (dt.date(2026, 10, 25), "")


def test_cuttings_and_other_classes_take_the_freezer(
    session: Session, maker: Any, freezer: int, fridge: int, today: dt.date
) -> None:
    strawberry = maker.lot(population=maker.population(species=maker.species("arbutus-unedo")))
    cuttings = maker.lot(pieces=40, material=Material.CUTTINGS)
    for lot in (strawberry, cuttings):
        move(session, lot, freezer, PUT, material=lot.material)
        assert harm(session, lot) == ""
        move(session, lot, fridge, today, material=lot.material)
        assert (lot.harmed_on, harm(session, lot)) == (None, "")


def test_an_oven_test_dates_the_moisture_and_shows_that_acorns_dried(
    session: Session, acorns: Lot, today: dt.date
) -> None:
    dry = record_test(
        session, "Ana", lot=acorns, kind=TestKind.MOISTURE, tested_on=dt.date(2026, 11, 10), today=today,
        readings={"samples": [[20.0, 25.0, 24.0]]},
    )  # fmt: skip
    assert acorns.moisture_pct == pytest.approx(20.0)
    assert (acorns.moisture_on, harm(session, acorns)) == (dt.date(2026, 11, 10), "dried")

    withdraw_test(session, "Ana", test=dry, reason="The oven was not warm.")
    assert (acorns.moisture_pct, acorns.moisture_on, harm(session, acorns)) == (None, None, "")


def test_a_part_put_elsewhere_takes_its_past_along(
    session: Session, acorns: Lot, freezer: int, fridge: int, today: dt.date
) -> None:
    move(session, acorns, freezer, PUT)
    part = split_lot(
        session, "Ana", lot=acorns, amount=100_000, storage_place_id=fridge, happened_on=today, today=today
    )

    assert (part.stored_on, part.harmed_on, harm(session, part)) == (today, today, "before")
    assert (acorns.stored_on, acorns.harmed_on) == (PUT, None)


def test_a_mixture_with_frozen_acorns_is_left_out(
    session: Session, maker: Any, acorns: Lot, freezer: int, fridge: int, today: dt.date
) -> None:
    move(session, acorns, freezer, PUT)
    other = maker.lot(
        population=acorns.population, germination=0.9, tested_on=dt.date(2026, 11, 20), storage_place_id=fridge
    )
    mixed = mix_lots(
        session, "Ana", amounts=[(acorns, 1000), (other, 2000)], storage_place_id=fridge, happened_on=today,
        today=today,
    )  # fmt: skip

    assert (mixed.stored_on, mixed.harmed_on, harm(session, mixed)) == (today, today, "before")


def test_the_plan_is_told_which_lots_are_lost(
    session: Session, maker: Any, acorns: Lot, freezer: int, today: dt.date
) -> None:
    maker.lot(population=acorns.population)
    move(session, acorns, freezer, PUT)

    assert gather.gather(session, today=today).inputs.lots["is_lost"].tolist() == [True, False]
