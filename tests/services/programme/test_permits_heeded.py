"""What permits allow, from which day, and where goes what one of them does not allow."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models.permits import AreaKind
from nursery.services.permits.notices import note_notice, season_mark, token
from nursery.services.programme.picks import Pick
from tests.services.programme.programme_maker import CLOSES, crop, permit, programme

Told = tuple[str, str | None, float, float]


def told(session: Session, **options: Any) -> list[list[Told]]:
    """Of each need: population, permit, amount and what of it is not covered."""
    return [[_told(pick) for pick in one.picks] for one in programme(session, **options).needs]


def _told(pick: Pick) -> Told:
    return (
        pick.stand.code, pick.permit.number if pick.permit else None, round(pick.amount, 4),
        round(pick.uncovered, 4),
    )  # fmt: skip


@pytest.fixture
def places(maker: Any) -> list[Any]:
    """Three stands, the nearest first."""
    return [maker.population(region_code="R1", fruiting_plants=90, latitude=40.2 + step / 10) for step in range(3)]


def under(session: Session, maker: Any, place: Any, **values: Any) -> Any:
    return permit(session, maker.species(), area_kind=AreaKind.PLACES, places=place.code, **values)


def test_what_exceeds_a_permit_goes_to_the_next_population_whose_permit_can_give_it(
    session: Session, maker: Any, need: Callable[..., Any], places: list[Any]
) -> None:
    near, bare, far = places
    under(session, maker, near, number="A", cap_mg=200_000)
    under(session, maker, far, number="B", cap_mg=250_000)
    need(fruit_kg=0.4)
    need(fruit_kg=0.1, closes_on=dt.date(2027, 12, 1))

    assert told(session) == [
        [(near.code, "A", 0.2, 0.0), (far.code, "B", 0.2, 0.0)],
        [(far.code, "B", 0.1, 0.05)],
    ]
    (asked,) = programme(session).uncovered
    assert (asked.reason, asked.permit) == ("It is more than permit B still allows.", asked.permit)
    assert bare.code not in {pick.stand.code for one in programme(session).needs for pick in one.picks}


def test_what_no_permit_can_give_is_left_to_be_asked_of_the_authority(
    session: Session, maker: Any, need: Callable[..., Any], places: list[Any]
) -> None:
    near, _bare, far = places
    under(session, maker, near, number="A", cap_mg=200_000)
    under(session, maker, far, number="B", cap_mg=100_000)
    need(fruit_kg=0.5)

    assert told(session) == [[(near.code, "A", 0.4, 0.2), (far.code, "B", 0.1, 0.0)]]
    assert [round(pick.uncovered, 4) for pick in programme(session).uncovered] == [0.2]


def test_two_permits_of_one_population_are_two_lots(
    session: Session, maker: Any, need: Callable[..., Any], places: list[Any]
) -> None:
    near = places[0]
    under(session, maker, near, number="A", cap_mg=300_000)
    under(session, maker, near, number="B", cap_mg=100_000)
    need(fruit_kg=0.5, mothers=50)

    (planned,) = programme(session).needs

    assert told(session) == [[(near.code, "A", 0.3, 0.0), (near.code, "B", 0.2, 0.1)]]
    assert [pick.mothers for pick in planned.picks] == [30, 20]
    assert planned.populations == 1


def test_cuttings_are_moved_on_whole(
    session: Session, maker: Any, need: Callable[..., Any], places: list[Any]
) -> None:
    near, _bare, far = places
    under(session, maker, near, number="A", cap_pieces=150)
    under(session, maker, far, number="B", cap_pieces=100)
    need(grams=None, fruit_kg=None, seeds=400)

    assert told(session) == [[(near.code, "A", 300, 150), (far.code, "B", 100, 0)]]


def test_a_stand_takes_no_more_than_its_fifth_of_what_is_moved_on(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    near = maker.population(region_code="R1", fruiting_plants=90, latitude=40.2)
    far = maker.population(region_code="R1", fruiting_plants=1, latitude=40.3)
    fifth = crop(session) * 0.2
    under(session, maker, near, number="A", cap_mg=round(fifth * 1e6))
    under(session, maker, far, number="B")
    need(fruit_kg=3 * fifth)

    assert told(session) == [
        [(near.code, "A", round(2 * fifth, 4), round(fifth, 4)), (far.code, "B", round(fifth, 4), 0.0)]
    ]


def test_a_stand_without_a_permit_stays_where_its_mothers_are_needed(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    near = maker.population(region_code="R1", fruiting_plants=20, latitude=40.2)
    bare = maker.population(region_code="R1", fruiting_plants=20, latitude=40.3)
    under(session, maker, near, number="A")
    need(fruit_kg=0.4, mothers=30)

    assert told(session) == [[(near.code, "A", 0.2, 0.0), (bare.code, None, 0.2, 0.2)]]


def test_mothers_are_shared_anew_when_amounts_go_elsewhere(
    session: Session, maker: Any, need: Callable[..., Any], places: list[Any]
) -> None:
    near, _bare, far = places
    under(session, maker, near, number="A", cap_mg=100_000)
    under(session, maker, far, number="B")
    need(fruit_kg=0.4, mothers=40)

    (planned,) = programme(session).needs

    assert [(pick.stand.code, pick.mothers) for pick in planned.picks] == [(near.code, 10), (far.code, 30)]


def test_nothing_is_dated_before_the_notice_that_a_permit_asks_for(
    session: Session, maker: Any, need: Callable[..., Any], places: list[Any]
) -> None:
    allowed = under(session, maker, places[0], notice_days=10)
    made = need()
    today = dt.date(2027, 11, 10)

    (trip,) = programme(session, dt.date(2027, 11, 18)).trips
    assert (trip.first_day, trip.last_day) == (dt.date(2027, 11, 28), dt.date(2027, 11, 28))
    assert trip.notice == "Notice of 10 days: not before 28 Nov 2027, and only if the authority is told today."
    assert trip.tell_by(trip.picks[0]) == dt.date(2027, 11, 18)

    (trip,) = programme(session, today).trips
    assert (trip.first_day, trip.last_day) == (dt.date(2027, 11, 22), dt.date(2027, 11, 28))
    assert (trip.notice, trip.tell_by(trip.picks[0])) == ("", dt.date(2027, 11, 12))  # it begins later anyway
    (pick,) = trip.picks
    assert (pick.first_day, pick.not_before) == (dt.date(2027, 11, 20), dt.date(2027, 11, 20))
    assert pick.notice == "Notice of 10 days: not before 20 Nov 2027, and only if the authority is told today."

    note_notice(
        session, "Ana", marks=[token(allowed, season_mark(allowed, made)[0])], told_on=dt.date(2027, 11, 5)
    )
    (pick,) = programme(session, today).needs[0].picks
    assert (pick.first_day, pick.notice) == (
        dt.date(2027, 11, 15), "Notice of 10 days, given: not before 15 Nov 2027.",
    )  # fmt: skip
    (pick,) = programme(session, dt.date(2027, 11, 16)).needs[0].picks
    assert (pick.first_day, pick.notice) == (dt.date(2027, 11, 16), "")


def test_a_season_far_off_is_not_held_up_by_a_notice(
    session: Session, maker: Any, need: Callable[..., Any], places: list[Any]
) -> None:
    under(session, maker, places[0], notice_days=10)
    need()

    (trip,) = programme(session).trips

    assert (trip.notice, trip.picks[0].not_before) == ("", None)


def test_a_permit_whose_notice_outlasts_the_season_covers_nothing_and_another_is_taken(
    session: Session, maker: Any, need: Callable[..., Any], places: list[Any]
) -> None:
    near, other, _far = places
    under(session, maker, near, number="A", notice_days=30)
    need()
    today = CLOSES - dt.timedelta(days=20)

    (asked,) = programme(session, today).uncovered
    assert (asked.stand.code, asked.permit, asked.reason) == (
        near.code, None,
        "Permit A asks for a notice of 30 days: not before 10 Dec 2027, when its season is over.",
    )  # fmt: skip

    under(session, maker, near, number="C", cap_mg=300_000)
    (pick,) = programme(session, today).needs[0].picks
    assert (pick.permit.number if pick.permit else None, pick.reason) == (
        "C", "Permit A asks for a notice of 30 days: not before 10 Dec 2027, when its season is over.",
    )  # fmt: skip

    under(session, maker, other, number="B")
    assert told(session, today=today) == [[(near.code, "C", 0.3, 0.0), (other.code, "B", 0.2, 0.0)]]


def test_all_of_a_trip_has_a_day_on_which_it_can_be_collected(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    alder = maker.species("alnus-glutinosa")
    for species in (maker.species(), alder):
        maker.population(species=species, region_code="R1", basin="Alva", fruiting_plants=90)
    need(opens_on=dt.date(2027, 11, 1), closes_on=dt.date(2027, 11, 3))
    need(species=alder, opens_on=dt.date(2027, 11, 5), closes_on=dt.date(2027, 11, 7))

    assert [(trip.first_day, trip.last_day) for trip in programme(session).trips] == [
        (dt.date(2027, 11, 1), dt.date(2027, 11, 3)), (dt.date(2027, 11, 5), dt.date(2027, 11, 7)),
    ]  # fmt: skip


def test_what_this_seasons_lots_took_is_no_longer_offered(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    place = maker.population(region_code="R1", fruiting_plants=40)
    most = 40 * 0.2 * crop(session)
    need(fruit_kg=0.8 * most, grams=0.8 * most * 100)
    maker.lot(population=place, collected_on=dt.date(2027, 10, 5), amount_mg=0, fruit_mg=round(0.5 * most * 1e6))

    (planned,) = programme(session, dt.date(2027, 10, 6)).needs

    assert [pick.amount / most for pick in planned.picks] == [pytest.approx(0.5)]
    assert planned.lacking / most == pytest.approx(0.3)
