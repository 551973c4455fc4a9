"""From needs to populations, permits and trips."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.errors import NotFound
from nursery.models.permits import AreaKind
from nursery.services.programme import find_trip, read_programme
from nursery.services.programme.effort import HOURS_PER_LOT, KM_PER_TRIP, read_effort
from nursery.services.weeks import Week
from tests.services.programme.programme_maker import CLOSES, OPENS, TODAY, crop, permit, programme


def test_without_a_plan_there_is_no_programme(session: Session) -> None:
    assert read_programme(session, today=TODAY) is None


def test_the_fewest_populations_share_the_amount_by_their_plants(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    near = maker.population(region_code="R1", fruiting_plants=20, latitude=40.2)
    next_one = maker.population(region_code="R1", fruiting_plants=40, latitude=40.3)
    maker.population(region_code="R1", fruiting_plants=90, latitude=40.9)
    need(fruit_kg=30 * crop(session) * 0.2, mothers=30)

    (planned,) = programme(session).needs

    assert [(pick.stand.code, pick.mothers) for pick in planned.picks] == [(near.code, 10), (next_one.code, 20)]
    fruit = 6 * crop(session)
    assert [pick.amount for pick in planned.picks] == pytest.approx([fruit / 3, 2 * fruit / 3])
    assert (planned.populations, planned.to_find, planned.lacking) == (2, 0, 0.0)


def test_no_population_gives_more_than_a_fifth_of_its_crop(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    maker.population(region_code="R1", fruiting_plants=10)
    fifth = 10 * crop(session) * 0.2
    need(fruit_kg=3 * fifth, mothers=30)

    (planned,) = programme(session).needs

    assert [pick.amount for pick in planned.picks] == pytest.approx([fifth])
    assert planned.lacking == pytest.approx(2 * fifth)
    assert (planned.to_find, planned.populations) == (2, 3)


def test_mothers_ask_for_more_populations_than_the_amount(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    maker.population(region_code="R1", fruiting_plants=12)
    need(fruit_kg=0.001, mothers=30)

    (planned,) = programme(session).needs

    assert (len(planned.picks), planned.mothers, planned.to_find, planned.lacking) == (1, 12, 2, 0.0)


def test_a_need_without_a_population_asks_to_look_for_one(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    maker.population(region_code="R2", fruiting_plants=50)
    need()

    found = programme(session)

    assert [(one.picks, one.to_find, one.lacking) for one in found.without_population] == [([], 1, 0.5)]
    assert found.trips == []


def test_an_uncounted_population_takes_what_is_left(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    maker.population(region_code="R1", fruiting_plants=None)
    need()

    (planned,) = programme(session).needs

    assert [(pick.amount, pick.mothers) for pick in planned.picks] == [(0.5, 30)]
    assert planned.to_find == 0


def test_a_population_under_a_permit_comes_before_a_nearer_one(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    oak = maker.species()
    maker.population(region_code="R1", fruiting_plants=90, latitude=40.2)
    far = maker.population(region_code="R1", fruiting_plants=90, latitude=40.6)
    allowed = permit(session, oak, area_kind=AreaKind.PLACES, places=far.code)
    need()

    (planned,) = programme(session).needs

    (pick,) = planned.picks
    assert (pick.stand.code, pick.permit, pick.uncovered, pick.reason) == (far.code, allowed, 0.0, "")


def test_needs_share_what_a_permit_still_allows(session: Session, maker: Any, need: Callable[..., Any]) -> None:
    oak = maker.species()
    maker.population(region_code="R1", fruiting_plants=900)
    allowed = permit(session, oak, cap_mg=800_000)
    need(closes_on=dt.date(2027, 11, 20))
    need(closes_on=dt.date(2027, 11, 30))

    first, second = (one.picks[0] for one in programme(session).needs)

    assert (first.permit, first.uncovered) == (allowed, 0.0)
    assert second.permit == allowed
    assert second.uncovered == pytest.approx(0.2, abs=1e-6)
    assert second.reason == "It is more than permit A 1 still allows."
    assert programme(session).uncovered[0].stand == second.stand


def test_what_was_collected_already_uses_the_permit_up(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    oak = maker.species()
    place = maker.population(region_code="R1", fruiting_plants=900)
    allowed = permit(session, oak, cap_mg=600_000)
    maker.lot(population=place, collected_on=dt.date(2027, 1, 5), permit_id=allowed.id, amount_mg=600_000)
    need()

    (planned,) = programme(session, dt.date(2027, 2, 1)).needs

    assert [(pick.permit, pick.uncovered) for pick in planned.picks] == [(None, 0.5)]


@pytest.mark.parametrize(
    ("values", "reason"),
    [
        ({"valid_to": dt.date(2027, 9, 30)}, "The season lies outside the days of permit A 1."),
        (
            {"area_kind": AreaKind.PLACES, "places": "Far away"},
            "The population lies outside the area of permit A 1.",
        ),
    ],
)
def test_what_no_permit_covers_says_why(
    session: Session, maker: Any, need: Callable[..., Any], values: dict[str, Any], reason: str
) -> None:
    maker.population(region_code="R1", fruiting_plants=90)
    permit(session, maker.species(), **values)
    need()

    assert [(pick.permit, pick.reason) for pick in programme(session).uncovered] == [(None, reason)]


def test_the_days_of_a_permit_narrow_the_days_of_collecting(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    maker.population(region_code="R1", fruiting_plants=90)
    permit(session, maker.species(), valid_to=dt.date(2027, 10, 20))
    need()

    (pick,) = programme(session).needs[0].picks

    assert (pick.first_day, pick.last_day) == (OPENS, dt.date(2027, 10, 20))


def test_one_trip_serves_needs_whose_seasons_meet_and_whose_places_are_near(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    alder = maker.species("alnus-glutinosa")
    oak_wood = maker.population(region_code="R1", basin="Alva", fruiting_plants=90)
    gallery = maker.population(species=alder, region_code="R1", basin="Alva", fruiting_plants=90, latitude=40.2)
    need(closes_on=dt.date(2027, 11, 30))
    need(species=alder, opens_on=dt.date(2027, 10, 20), closes_on=dt.date(2027, 11, 14))

    (trip,) = programme(session).trips

    # The alder's last week but one, on which the oak is ripe too.
    assert trip.week == Week.of(dt.date(2027, 11, 1))
    assert [stand.code for stand, _picks in trip.stops] == [gallery.code, oak_wood.code]
    assert (trip.first_day, trip.last_day) == (dt.date(2027, 11, 1), dt.date(2027, 11, 7))


@pytest.mark.parametrize(
    "apart",
    [{"basin": "Brenha"}, {"basin": "Alva", "latitude": 40.4}],
    ids=["another basin", "more than 25 km"],
)
def test_what_lies_elsewhere_is_another_trip(
    session: Session, maker: Any, need: Callable[..., Any], apart: dict[str, Any]
) -> None:
    alder = maker.species("alnus-glutinosa")
    maker.population(region_code="R1", basin="Alva", fruiting_plants=90)
    maker.population(species=alder, region_code="R1", fruiting_plants=90, **apart)
    need()
    need(species=alder)

    assert [len(trip.picks) for trip in programme(session).trips] == [1, 1]


def test_seasons_that_never_meet_are_two_trips(session: Session, maker: Any, need: Callable[..., Any]) -> None:
    maker.population(region_code="R1", fruiting_plants=900)
    need()
    need(opens_on=dt.date(2028, 10, 1), closes_on=dt.date(2028, 10, 9))

    weeks = [trip.week for trip in programme(session).trips]

    assert weeks == [Week.of(dt.date(2027, 11, 22)), Week.of(dt.date(2028, 10, 2))]


def test_a_season_that_is_over_is_only_counted(session: Session, maker: Any, need: Callable[..., Any]) -> None:
    maker.population(region_code="R1", fruiting_plants=900)
    need()

    found = programme(session, CLOSES + dt.timedelta(days=1))

    assert (found.needs, found.trips, found.over) == ([], [], 1)


def test_an_open_season_is_counted_from_today(session: Session, maker: Any, need: Callable[..., Any]) -> None:
    maker.population(region_code="R1", fruiting_plants=900)
    need()

    (trip,) = programme(session, CLOSES).trips

    assert (trip.first_day, trip.last_day) == (CLOSES, CLOSES)


def test_hours_and_ways_are_the_medians_of_own_trips(session: Session, maker: Any) -> None:
    assert read_effort(session).hours_per_lot == HOURS_PER_LOT
    assert read_effort(session).km_per_trip == KM_PER_TRIP
    for hours, km, lots in ((10, 40, 2), (9, 80, 1), (None, 50, 1), (8, None, 0)):
        trip = maker.trip(hours=hours, km=km)
        for _number in range(lots):
            maker.lot(trip_id=trip.id)

    effort = read_effort(session)

    assert (effort.hours_per_lot, effort.hours_from, effort.km_per_trip, effort.km_from) == (7.0, 2, 50.0, 3)


def test_a_trip_is_found_by_its_key_and_an_old_key_is_told(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    maker.population(region_code="R1", fruiting_plants=900)
    need()
    found = programme(session)

    assert find_trip(found, found.trips[0].key) is found.trips[0]
    with pytest.raises(NotFound, match="no such trip any more"):
        find_trip(found, "2027-W01-1")


def test_the_number_of_queries_does_not_grow_with_the_needs(
    session: Session, engine: Engine, maker: Any, need: Callable[..., Any], count_queries: Any
) -> None:
    maker.population(region_code="R1", fruiting_plants=900)
    permit(session, maker.species())
    sent = []
    for _round in range(2):
        need()
        session.flush()
        session.expire_all()
        with count_queries(engine) as statements:
            programme(session)
        sent.append(len(statements))
    need()
    assert sent[0] == sent[1]


def test_a_permit_that_caps_a_weight_does_not_tell_what_cuttings_it_allows(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    maker.population(region_code="R1", fruiting_plants=900)
    permit(session, maker.species(), cap_mg=800_000)
    need(grams=None, fruit_kg=None, seeds=400)

    (planned,) = programme(session).needs

    assert [(pick.permit, pick.uncovered, pick.reason) for pick in planned.picks] == [
        (None, 400, "The permit caps a weight, but the lot is counted: whether it is within cannot be told.")
    ]


def test_needs_of_one_season_share_the_fifth_that_a_stand_may_give(
    session: Session, maker: Any, need: Callable[..., Any]
) -> None:
    maker.population(region_code="R1", fruiting_plants=40)
    most = 40 * 0.2 * crop(session)
    for wanted in (0.6, 0.6, 0.6):
        need(fruit_kg=wanted * most, grams=wanted * most * 900)

    given = [sum(pick.amount for pick in one.picks) / most for one in programme(session).needs]

    assert given == [pytest.approx(0.6), pytest.approx(0.4), 0]
    assert [one.lacking / most for one in programme(session).needs] == [
        0, pytest.approx(0.2), pytest.approx(0.6),
    ]  # fmt: skip
