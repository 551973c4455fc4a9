"""Lots are checked when they are written down, held when nothing covers them, and released for a reason."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Change, Lot
from nursery.models.movements import Measure
from nursery.models.types import utc_now
from nursery.planning.plan import make_plan
from nursery.services.ledger import recount_lot, split_lot
from nursery.services.lots import change_lot
from nursery.services.permits.books import coverage_of, read_book
from nursery.services.permits.holding import check_lots, hold_lot, release_lot, report_lot
from nursery.services.permits.records import change_permit, create_permit
from nursery.services.planning.gather import gather
from tests.services.permits.permit_maker import make_permit

ANA = "Ana Seabra"


def actions(session: Session, lot: Lot) -> list[str]:
    return list(
        session.scalars(
            select(Change.action)
            .where(Change.subject == "lots", Change.subject_id == lot.id, Change.action != "moved")
            .order_by(Change.id)
        )
    )


def test_while_no_permit_is_written_down_nothing_is_held(session: Session, write: Any) -> None:
    lot = write(permit_number="COL 2026/1")

    assert (lot.is_held, lot.permit_id, coverage_of(session, lot)) == (False, None, None)
    assert actions(session, lot) == ["created"]


def test_an_archived_permit_covers_nothing_and_asks_for_nothing(session: Session, write: Any) -> None:
    make_permit(session, archived_at=utc_now())

    assert write().is_held is False


def test_a_lot_is_linked_to_the_permit_that_covers_it(session: Session, maker: Any, write: Any) -> None:
    permit = make_permit(session, {"species_id": maker.species().id, "cap_mg": 5_000_000})

    lot = write()

    assert (lot.is_held, lot.permit_id, lot.permit_number) == (False, permit.id, "COL 2026/1")


def test_a_typed_number_is_matched_whatever_its_capitals(session: Session, maker: Any, write: Any) -> None:
    permit = make_permit(session, {"species_id": maker.species().id})

    lot = write(permit_number=" col  2026/1")

    assert (lot.permit_id, lot.permit_number) == (permit.id, "COL 2026/1")


def test_what_goes_over_the_cap_is_kept_and_held(session: Session, maker: Any, write: Any) -> None:
    permit = make_permit(session, {"species_id": maker.species().id, "cap_mg": 3_000_000})

    first, second, third = write(), write(permit_number="COL 2026/1"), write()

    assert [lot.is_held for lot in (first, second, third)] == [False, True, True]
    assert [lot.permit_id for lot in (first, second, third)] == [permit.id, permit.id, None]
    assert actions(session, second) == ["created", "checked"]


def test_a_later_overrun_leaves_an_earlier_lot_as_it_is(session: Session, maker: Any, write: Any) -> None:
    make_permit(session, {"species_id": maker.species().id, "cap_mg": 3_000_000})
    first = write(permit_number="COL 2026/1")
    second = write(collected_on=dt.date(2026, 10, 21), permit_number="COL 2026/1")

    check_lots(session, ANA, [first.id])
    check_lots(session, ANA, [second.id, first.id])

    assert (first.is_held, second.is_held) == (False, True)
    assert actions(session, first) == ["created", "checked"]


def test_an_earlier_lot_that_is_written_down_late_holds_what_it_pushes_beyond_the_cap(
    session: Session, maker: Any, write: Any
) -> None:
    make_permit(session, {"species_id": maker.species().id, "cap_mg": 3_000_000})
    later = write(collected_on=dt.date(2026, 10, 21))
    assert later.is_held is False

    earlier = write()
    session.refresh(later)

    assert (earlier.is_held, later.is_held) == (False, True)
    assert actions(session, later) == ["created", "checked", "checked"]


def test_an_unlawful_lot_that_nobody_held_is_not_held_by_checking_another(
    session: Session, maker: Any, write: Any
) -> None:
    first, second = write(permit_number="A"), write(permit_number="A")
    make_permit(session, {"species_id": maker.species().id, "cap_mg": 3_000_000}, number="A")
    for lot in (first, second):
        lot.permit_id = 1
    session.flush()

    check_lots(session, ANA, [first.id])

    assert (first.is_held, second.is_held) == (False, False)


def test_a_held_lot_is_in_no_plan_until_it_is_released(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    make_permit(session)
    lot = write()
    maker.target(site=maker.site(region_code="RP-3"), plants=20)

    # A plan knows the lot on hold, so that it can say what keeps it away, and draws nothing from it.
    held = gather(session, today=today)
    assert held.lots["lot_code"].tolist() == [lot.code]
    assert make_plan(held.inputs).draws["seeds"].tolist() == []

    release_lot(session, ANA, lot=lot, reason="The council said yes on the telephone, letter follows")

    released = gather(session, today=today)
    drawn = make_plan(released.inputs).draws
    assert released.lots["lot_code"].iloc[drawn["lot"]].tolist() == [lot.code]
    assert (drawn["seeds"] > 0).all()
    assert (lot.is_held, lot.released_by) == (False, ANA)
    assert lot.release_reason == "The council said yes on the telephone, letter follows"
    assert actions(session, lot) == ["created", "checked", "released"]


def test_a_release_needs_a_reason(session: Session, write: Any) -> None:
    make_permit(session)
    lot = write()

    with pytest.raises(Invalid, match="Say why the lot may be sown although no permit covers it"):
        release_lot(session, ANA, lot=lot, reason=" ")
    assert lot.is_held is True


def test_what_is_not_on_hold_cannot_be_released_nor_held_twice(session: Session, write: Any) -> None:
    lot = write()
    with pytest.raises(Conflict, match="is not on hold"):
        release_lot(session, ANA, lot=lot, reason="x")

    hold_lot(session, ANA, lot=lot, reason="Mould on the bag")

    with pytest.raises(Conflict, match="is on hold already"):
        hold_lot(session, ANA, lot=lot, reason="x")


def test_a_released_lot_is_held_again_when_what_the_reason_was_for_changes(
    session: Session, write: Any, today: dt.date
) -> None:
    make_permit(session)
    lot = write()
    release_lot(session, ANA, lot=lot, reason="Letter of 3 November")

    change_lot(session, ANA, row=lot, values={**kept(lot), "notes": "Box 4"}, today=today)
    assert lot.is_held is False
    change_lot(session, ANA, row=lot, values={**kept(lot), "collected_on": dt.date(2026, 10, 21)}, today=today)

    assert (lot.is_held, lot.released_at, lot.released_by, lot.release_reason) == (True, None, "", "")


def kept(lot: Lot) -> dict[str, Any]:
    return {
        "population_id": lot.population_id,
        "collected_on": lot.collected_on,
        "permit_number": lot.permit_number,
    }


def test_a_hold_by_hand_outlives_the_check(session: Session, maker: Any, write: Any) -> None:
    make_permit(session, {"species_id": maker.species().id})
    lot = write()
    hold_lot(session, ANA, lot=lot, reason="Mould on the bag")

    check_lots(session, ANA, [lot.id])
    assert lot.is_held is True

    release_lot(session, ANA, lot=lot, reason="Only dust")
    check_lots(session, ANA, [lot.id])
    assert lot.is_held is False


def test_a_permit_written_down_later_frees_what_it_covers_once_asked(
    session: Session, maker: Any, write: Any
) -> None:
    make_permit(session)
    lot = write()
    assert lot.is_held is True
    make_permit(session, {"species_id": maker.species().id}, number="COL 2026/2")

    check_lots(session, ANA, [lot.id])

    assert (lot.is_held, lot.permit_number) == (False, "COL 2026/2")


def test_a_new_permit_takes_in_the_lots_that_bear_its_number_and_holds_none(
    session: Session, write: Any, today: dt.date
) -> None:
    lot, other = write(permit_number="col 2026/1"), write()

    permit = create_permit(
        session, ANA, today=today,
        values={"number": "COL 2026/1", "authority": "River Council", "valid_from": dt.date(2026, 1, 1),
                "valid_to": dt.date(2026, 12, 31)},
    )  # fmt: skip
    session.refresh(lot)

    assert (lot.permit_id, lot.is_held, other.permit_id, other.is_held) == (permit.id, False, None, False)


def test_what_somebody_else_collected_counts_under_no_permit_of_ours(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    lot = write(permit_number="COL 2026/1", is_received=True)
    permit = create_permit(
        session, ANA, today=today,
        values={"number": "COL 2026/1", "authority": "River Council", "valid_from": dt.date(2026, 1, 1),
                "valid_to": dt.date(2026, 12, 31)},
    )  # fmt: skip

    found = check_lots(session, ANA, [lot.id])

    assert (found, coverage_of(session, lot), lot.permit_id, lot.is_held) == ({}, None, None, False)
    assert read_book(session).takings[permit.id] == {}


def test_lots_follow_a_corrected_number(session: Session, maker: Any, write: Any, today: dt.date) -> None:
    permit = make_permit(session, {"species_id": maker.species().id})
    lot = write()

    change_permit(session, ANA, row=permit, values={"number": "COL 2026/11"}, today=today)
    session.refresh(lot)

    assert (lot.permit_id, lot.permit_number) == (permit.id, "COL 2026/11")


def test_a_permit_does_not_end_before_it_begins(session: Session, today: dt.date) -> None:
    values = {"number": "1", "authority": "X", "valid_from": today, "valid_to": today - dt.timedelta(days=1)}
    with pytest.raises(Invalid) as refused:
        create_permit(session, ANA, values=values, today=today)
    assert refused.value.errors == {"valid_to": "The permit would end before it begins. Correct one of the days."}


@pytest.mark.parametrize(
    ("day", "message"),
    [
        (None, "Give the day of the report."),
        (dt.date(2026, 11, 26), "The report would lie in the future. Correct the date."),
        (
            dt.date(2026, 10, 19),
            "The report would be before the collection on 20 Oct 2026. Correct the date.",
        ),
    ],
)
def test_a_report_lies_between_collecting_and_today(
    session: Session, write: Any, today: dt.date, day: dt.date | None, message: str
) -> None:
    lot = write()
    with pytest.raises(Invalid) as refused:
        report_lot(session, ANA, lot=lot, reported_on=day, today=today)
    assert refused.value.errors == {"reported_on": message}

    report_lot(session, ANA, lot=lot, reported_on=today, today=today)
    assert lot.reported_on == today


def test_a_lot_whose_amount_is_not_known_yet_is_checked_too(session: Session, write: Any, today: dt.date) -> None:
    """Else seed could be weighed in later, by a recount, and sown without a permit."""
    make_permit(session)

    lot = write(amount_mg=0)
    recount_lot(
        session, ANA, lot=lot, measure=Measure.SEED, counted=5_000_000, reason="Weighed", happened_on=today,
        today=today,
    )  # fmt: skip

    assert lot.is_held is True


def test_what_was_split_off_a_lot_is_not_checked_again(session: Session, write: Any, today: dt.date) -> None:
    lot = write()
    make_permit(session)
    part = split_lot(session, ANA, lot=lot, amount=1_000_000, measure=Measure.SEED, happened_on=today, today=today)

    assert (check_lots(session, ANA, [part.id]), coverage_of(session, part), part.is_held) == ({}, None, False)
