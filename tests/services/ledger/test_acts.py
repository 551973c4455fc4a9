"""Each act of the ledger: what it writes, what it refuses and in which words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import delete, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid, NotFound
from nursery.models import Change, Lot
from nursery.models.lots import Material
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.services import ledger
from nursery.services.lots import change_lot, create_lot

ANA = "Ana Seabra"
DAY = dt.date(2026, 11, 20)


@pytest.fixture
def when(today: dt.date) -> dict[str, Any]:
    return {"happened_on": DAY, "today": today}


def refused(act: Callable[[], object]) -> dict[str, str]:
    with pytest.raises(Invalid) as refusal:
        act()
    return refusal.value.errors


def movements(session: Session, lot: Lot) -> list[tuple[str, str, int]]:
    rows = session.scalars(select(Movement).where(Movement.lot_id == lot.id).order_by(Movement.id))
    return [(row.kind.value, row.measure.value, row.change) for row in rows]


def test_a_new_lot_begins_with_what_was_collected(session: Session, maker: Any, today: dt.date) -> None:
    values = {"population_id": maker.population().id, "collected_on": DAY, "amount_mg": 0, "fruit_mg": 12_500_000}

    lot = create_lot(session, ANA, values={**values, "pieces": None}, today=today)

    assert movements(session, lot) == [("collected", "fruit", 12_500_000)]
    assert session.scalars(select(Movement.happened_on)).one() == DAY


def test_changing_a_lot_leaves_its_amount_alone(session: Session, maker: Any, today: dt.date) -> None:
    lot = maker.lot()

    values = {"population_id": lot.population_id, "collected_on": lot.collected_on, "amount_mg": 7}
    change_lot(session, ANA, row=lot, today=today, values={**values, "pieces": None})

    assert (lot.amount_mg, movements(session, lot)) == (500_000, [("collected", "seed", 500_000)])


def test_what_the_lot_does_not_hold_cannot_leave_it(session: Session, maker: Any, when: dict[str, Any]) -> None:
    lot = maker.lot(code="L/1", amount_mg=12_500)

    told = refused(
        lambda: ledger.take_from_lot(
            session, ANA, lot=lot, kind=MovementKind.WITHDRAWN, measure=Measure.SEED, amount=12_501, **when
        )
    )

    assert told == {"amount": "L/1 holds 12.5 g; 12.501 g cannot leave it. Give less, or recount the lot first."}
    assert lot.amount_mg == 12_500


@pytest.mark.parametrize(
    ("given", "measure", "told"),
    [
        ({"amount_mg": 5}, Measure.PIECES, "L/1 is kept in grams. Give the amount in grams."),
        ({"pieces": 5}, Measure.SEED, "L/1 is kept in pieces. Give the amount in pieces."),
    ],
)
def test_a_lot_is_kept_in_one_unit(
    session: Session, maker: Any, when: dict[str, Any], given: dict[str, int], measure: Measure, told: str
) -> None:
    lot = maker.lot(code="L/1", **given)

    assert refused(
        lambda: ledger.take_from_lot(
            session, ANA, lot=lot, kind=MovementKind.SAMPLED, measure=measure, amount=1, **when
        )
    ) == {"amount": told}


def test_no_lot_grows_beyond_a_tonne(session: Session, maker: Any, when: dict[str, Any]) -> None:
    lot = maker.lot(amount_mg=1)

    assert refused(
        lambda: ledger.recount_lot(
            session, ANA, lot=lot, measure=Measure.SEED, counted=10**9 + 1, reason="", **when
        )
    ) == {"amount": "A lot holds at most 1,000 kg. Check the unit."}


@pytest.mark.parametrize(
    ("day", "told"),
    [
        (dt.date(2026, 11, 26), "The day lies in the future. Write it down once it has happened."),
        (
            dt.date(2026, 10, 19),
            "L/1 was collected on 20 Oct 2026; nothing happened to it before. Correct the day.",
        ),
    ],
)
def test_the_day_lies_between_collection_and_today(
    session: Session, maker: Any, today: dt.date, day: dt.date, told: str
) -> None:
    lot = maker.lot(code="L/1")

    assert refused(
        lambda: ledger.take_from_lot(
            session, ANA, lot=lot, kind=MovementKind.SAMPLED, measure=Measure.SEED, amount=1, happened_on=day,
            today=today,
        )
    ) == {"happened_on": told}  # fmt: skip


def test_gifts_and_waste_need_a_reason_and_held_seed_is_not_sown(
    session: Session, maker: Any, when: dict[str, Any]
) -> None:
    lot = maker.lot(code="L/1", is_held=True)

    def take(kind: MovementKind, reason: str = " ") -> Movement:
        return ledger.take_from_lot(
            session, ANA, lot=lot, kind=kind, measure=Measure.SEED, amount=1000, reason=reason, **when
        )

    assert refused(lambda: take(MovementKind.GIVEN)) == {"reason": "Write down who received it."}
    assert refused(lambda: take(MovementKind.DISCARDED)) == {"reason": "Write down why it was discarded."}
    assert refused(lambda: take(MovementKind.WITHDRAWN)) == {
        "amount": "L/1 is on hold because no permit covers it. It can be sown once somebody who may do so has"
        " released it with a reason."
    }
    assert take(MovementKind.GIVEN, "to the botanic garden").change == -1000


def test_fruit_becomes_seed_and_the_yield_is_kept(session: Session, maker: Any, when: dict[str, Any]) -> None:
    lot = maker.lot(amount_mg=0, fruit_mg=20_000_000)

    gave = ledger.extract_seed(session, ANA, lot=lot, fruit_mg=15_000_000, seed=3_000_000, **when)

    assert gave == pytest.approx(0.2)
    assert (lot.fruit_mg, lot.amount_mg) == (5_000_000, 3_000_000)
    (found,) = ledger.extraction_yields(session, [lot.species_id])
    assert (found.lot_id, found.fruit_mg, found.seed_mg, found.happened_on) == (
        lot.id, 15_000_000, 3_000_000, DAY,
    )  # fmt: skip
    assert found.share == pytest.approx(0.2)
    assert ledger.extraction_yields(session, [lot.species_id + 1]) == []


def test_a_yield_that_was_taken_back_is_no_evidence(
    session: Session, maker: Any, when: dict[str, Any], today: dt.date
) -> None:
    lot = maker.lot(amount_mg=0, fruit_mg=20_000_000)
    ledger.extract_seed(session, ANA, lot=lot, fruit_mg=15_000_000, seed=3_000_000, **when)
    (found,) = ledger.extraction_yields(session)

    ledger.reverse_act(session, ANA, act=found.act, reason="wrong scales", today=today)

    assert ledger.extraction_yields(session) == []
    assert (lot.fruit_mg, lot.amount_mg) == (20_000_000, 0)


@pytest.mark.parametrize(
    ("fruit", "seed", "fields"),
    [(0, 1, {"fruit"}), (5, 0, {"amount"}), (5, 6, {"amount"}), (20_000_001, 6, {"fruit"})],
)
def test_an_extraction_that_cannot_be_is_refused_whole(
    session: Session, maker: Any, when: dict[str, Any], fruit: int, seed: int, fields: set[str]
) -> None:
    lot = maker.lot(amount_mg=0, fruit_mg=20_000_000)

    assert (
        set(refused(lambda: ledger.extract_seed(session, ANA, lot=lot, fruit_mg=fruit, seed=seed, **when)))
        == fields
    )
    assert movements(session, lot) == [("collected", "fruit", 20_000_000)]


def test_cleaning_writes_the_loss(session: Session, maker: Any, when: dict[str, Any]) -> None:
    lot = maker.lot(amount_mg=10_000)

    ledger.clean_lot(session, ANA, lot=lot, left=9_000, **when)

    assert movements(session, lot)[-1] == ("cleaned", "seed", -1_000)
    assert set(refused(lambda: ledger.clean_lot(session, ANA, lot=lot, left=9_000, **when))) == {"amount"}


def test_a_recount_writes_the_difference_and_nothing_where_there_is_none(
    session: Session, maker: Any, when: dict[str, Any]
) -> None:
    lot = maker.lot(pieces=40, material=Material.CUTTINGS)
    count = {"lot": lot, "measure": Measure.PIECES, "reason": "", **when}

    more = ledger.recount_lot(session, ANA, counted=43, **count)
    same = ledger.recount_lot(session, ANA, counted=43, **count)

    assert more is not None
    assert (more.change, same, lot.pieces) == (3, None, 43)
    assert set(refused(lambda: ledger.recount_lot(session, ANA, counted=-1, **count))) == {"amount"}


def test_a_split_keeps_the_identity(session: Session, maker: Any, when: dict[str, Any]) -> None:
    lot = maker.lot(code="L/1", germination=0.8, tested_on=DAY, permit_number="7/2026", is_held=True)

    part = ledger.split_lot(session, ANA, lot=lot, amount=120_000, **when)

    for name in ("species_id", "population_id", "ripening_year", "collected_on", "germination", "permit_number",
                 "is_held"):  # fmt: skip
        assert getattr(part, name) == getattr(lot, name), name
    assert (lot.amount_mg, part.amount_mg, part.code != lot.code) == (380_000, 120_000, True)
    assert ledger.lot_shares(session, part) == {lot: 1.0}
    assert ledger.lot_descendants(session, lot) == [part]


def test_a_split_of_too_much_leaves_no_lot_behind(session: Session, maker: Any, when: dict[str, Any]) -> None:
    lot = maker.lot()

    assert set(refused(lambda: ledger.split_lot(session, ANA, lot=lot, amount=500_001, **when))) == {"amount"}
    assert session.scalars(select(Lot)).all() == [lot]


def test_an_act_is_taken_back_whole_and_stays_visible(
    session: Session, maker: Any, when: dict[str, Any], today: dt.date
) -> None:
    lot = maker.lot()
    part = ledger.split_lot(session, ANA, lot=lot, amount=120_000, **when)
    act = ledger.read_ledger(session, part)[0].act

    ledger.reverse_act(session, ANA, act=act, reason="the wrong lot", today=today)

    assert (lot.amount_mg, part.amount_mg, part.archived_at is None) == (500_000, 0, False)
    newest, split, first = ledger.read_ledger(session, lot)
    assert [entry.balance for entry in (newest, split, first)] == [500_000, 380_000, 500_000]
    assert (newest.reverses, split.reversed_by) == (split.id, newest.id)
    assert [entry.may_be_reversed for entry in (newest, split, first)] == [False, False, True]
    with pytest.raises(Conflict):
        ledger.reverse_act(session, ANA, act=act, reason="again", today=today)
    assert set(refused(lambda: ledger.reverse_act(session, ANA, act=newest.act, reason="x", today=today))) == {
        "reason"
    }


def test_what_has_been_used_since_cannot_be_taken_back(
    session: Session, maker: Any, when: dict[str, Any], today: dt.date
) -> None:
    lot = maker.lot(code="L/1")
    part = ledger.split_lot(session, ANA, lot=lot, amount=120_000, code="L/2", **when)
    ledger.take_from_lot(
        session, ANA, lot=part, kind=MovementKind.WITHDRAWN, measure=Measure.SEED, amount=20_000, **when
    )
    act = ledger.read_ledger(session, lot)[0].act

    told = refused(lambda: ledger.reverse_act(session, ANA, act=act, reason="the wrong lot", today=today))

    assert told == {"amount": "L/2 holds 100 g; 120 g cannot leave it. Give less, or recount the lot first."}
    assert (lot.amount_mg, part.amount_mg) == (380_000, 100_000)


def test_taking_back_needs_a_reason_and_an_act(session: Session, today: dt.date) -> None:
    assert set(refused(lambda: ledger.reverse_act(session, ANA, act="x", reason=" ", today=today))) == {"reason"}
    with pytest.raises(NotFound):
        ledger.reverse_act(session, ANA, act="x", reason="why", today=today)


@pytest.mark.parametrize("statement", [update(Movement).values(change=1), delete(Movement)])
def test_the_database_itself_keeps_the_ledger(session: Session, maker: Any, statement: Any) -> None:
    maker.lot()

    with pytest.raises(IntegrityError, match="the ledger is only added to"):
        session.execute(statement)


def test_each_movement_is_in_the_record_of_changes(session: Session, maker: Any, when: dict[str, Any]) -> None:
    lot = maker.lot()

    ledger.take_from_lot(
        session, ANA, lot=lot, kind=MovementKind.SAMPLED, measure=Measure.SEED, amount=20_000, **when
    )

    change = session.scalars(select(Change).where(Change.action == "moved")).one()
    assert (change.subject, change.subject_id, change.details) == (
        "lots",
        lot.id,
        {"amount_mg": [500_000, 480_000]},
    )


def test_a_balance_that_is_not_the_sum_is_named(session: Session, maker: Any) -> None:
    maker.lot(code="L/1")
    lot = maker.lot(code="L/2", fruit_mg=2_000_000)
    assert ledger.wrong_balances(session) == []

    lot.amount_mg = 1
    lot.fruit_mg = 0
    session.flush()

    assert ledger.wrong_balances(session) == [
        "Lot L/2 holds 0 g of fruit, but its movements come to 2 kg of fruit.",
        "Lot L/2 holds 0.001 g, but its movements come to 500 g.",
    ]
