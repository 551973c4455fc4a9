"""What recounts and corrections do to the sums under a permit, and which lots they push beyond a cap."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, Movement, Permit
from nursery.models.movements import Measure, MovementKind
from nursery.services.ledger import clean_lot, extract_seed, recount_lot, reverse_act, take_from_lot
from nursery.services.lots import change_lot
from nursery.services.permits.books import coverage_of, read_book
from nursery.services.permits.holding import release_lot
from tests.services.permits.permit_maker import make_permit

ANA = "Ana Seabra"


def recount(session: Session, lot: Lot, counted: int, today: dt.date, measure: Measure = Measure.SEED) -> None:
    recount_lot(
        session, ANA, lot=lot, measure=measure, counted=counted, reason="Weighed", happened_on=today, today=today
    )


def test_what_a_recount_finds_beyond_the_collected_counts_under_the_same_permit(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    permit = make_permit(session, {"species_id": maker.species().id, "cap_mg": 3_000_000})
    lot = write()

    recount(session, lot, 1_500_000, today)
    assert taken(session, permit) == (2_000_000, 0)  # lost or dried, but taken
    recount(session, lot, 2_300_000, today)
    assert taken(session, permit) == (2_300_000, 300_000)
    take_from_lot(
        session, ANA, lot=lot, kind=MovementKind.GIVEN, amount=2_000_000, measure=Measure.SEED, reason="Friends",
        happened_on=today, today=today,
    )  # fmt: skip
    recount(session, lot, 1_200_000, today)
    assert taken(session, permit) == (3_200_000, 1_200_000)

    coverage = coverage_of(session, lot)
    assert coverage is not None
    assert [answer.text for answer in coverage.missing] == [
        "With this lot 3.2 kg are collected of the 3 kg allowed, 200 g too much."
    ]


def test_a_lot_that_a_recount_brings_beyond_the_cap_is_held(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    make_permit(session, {"species_id": maker.species().id, "cap_mg": 3_000_000})
    lot = write()

    recount(session, lot, 3_000_000, today)
    assert lot.is_held is False
    recount(session, lot, 3_100_000, today)
    assert lot.is_held is True


def test_a_later_lot_that_a_recount_pushes_beyond_the_cap_is_held(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    make_permit(session, {"species_id": maker.species().id, "cap_mg": 4_100_000})
    first, later = write(), write(collected_on=dt.date(2026, 10, 21))

    recount(session, first, 2_100_000, today)
    session.refresh(later)
    assert (first.is_held, later.is_held) == (False, False)
    recount(session, first, 2_100_001, today)
    session.refresh(later)

    assert (first.is_held, later.is_held) == (False, True)


def test_a_later_lot_that_a_corrected_day_pushes_beyond_the_cap_is_held(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    make_permit(session, {"species_id": maker.species().id, "cap_mg": 3_000_000})
    first, second = write(), write(collected_on=dt.date(2026, 10, 21))
    assert (first.is_held, second.is_held) == (False, True)
    release_lot(session, ANA, lot=second, reason="Letter")

    values = {"population_id": second.population_id, "collected_on": dt.date(2026, 10, 19)}
    change_lot(session, ANA, row=second, version=second.version, values=values, today=today)
    session.refresh(first)

    assert (first.is_held, second.is_held) == (True, False)


def test_a_correction_holds_no_lot_that_was_beyond_the_cap_and_released(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    make_permit(session, {"species_id": maker.species().id, "cap_mg": 3_000_000})
    first, second = write(), write(collected_on=dt.date(2026, 10, 21))
    release_lot(session, ANA, lot=second, reason="Letter")

    recount(session, first, 2_100_000, today)
    session.refresh(second)

    assert (first.is_held, second.is_held, second.release_reason) == (False, False, "Letter")


def test_seed_that_cleaning_took_away_and_a_recount_gives_back_was_taken_once(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    permit = make_permit(session, {"species_id": maker.species().id})
    lot = write()
    clean_lot(session, ANA, lot=lot, left=1_500_000, reason="", happened_on=today, today=today)

    recount(session, lot, 1_600_000, today)
    assert taken(session, permit) == (2_000_000, 0)
    recount(session, lot, 2_100_000, today)
    assert taken(session, permit) == (2_100_000, 100_000)


def test_more_seed_out_of_the_same_fruit_is_not_more_fruit_taken(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    permit = make_permit(session, {"species_id": maker.species().id})
    lot = write(amount_mg=0, fruit_mg=9_000_000)
    extract_seed(session, ANA, lot=lot, fruit_mg=5_000_000, seed=1_000_000, happened_on=today, today=today)

    recount(session, lot, 1_200_000, today)
    assert taken(session, permit) == (9_000_000, 0)
    recount(session, lot, 4_500_000, today, Measure.FRUIT)
    assert taken(session, permit) == (9_500_000, 500_000)


def taken(session: Session, permit: Permit) -> tuple[int, int]:
    """Milligrams counted under a permit, and those of them that recounts found."""
    book = read_book(session, permit_id=permit.id)
    (line,) = permit.lines
    return book.accounts(permit)[line.id].milligrams, sum(one.found for one in book.takings[permit.id].values())


def test_a_later_lot_that_a_cleaning_taken_back_pushes_beyond_the_cap_is_held(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    make_permit(session, {"species_id": maker.species().id, "cap_mg": 4_000_000})
    first, later = write(), write(collected_on=dt.date(2026, 10, 21))
    clean_lot(session, ANA, lot=first, left=1_500_000, reason="", happened_on=today, today=today)
    # Found again within what cleaning took away: nothing more was collected.
    recount(session, first, 1_900_000, today)
    session.refresh(later)
    assert (first.is_held, later.is_held) == (False, False)

    # Without the cleaning it was found beyond the two kilograms.
    act = session.scalar(select(Movement.act).where(Movement.kind == MovementKind.CLEANED))
    reverse_act(session, ANA, act=str(act), reason="Another lot was cleaned", today=today)
    session.refresh(later)

    assert (first.is_held, later.is_held) == (False, True)
