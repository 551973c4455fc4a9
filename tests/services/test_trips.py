"""Trips: a code a year, days that have been, and lots that move with their trip."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.services.trips import change_trip, create_trip

DAY = dt.date(2026, 10, 20)


def test_codes_run_by_year(session: Session, today: dt.date) -> None:
    def code(day: dt.date) -> str:
        return create_trip(session, "Ana Seabra", values={"collected_on": day, "code": ""}, today=today).code

    assert [code(DAY), code(DAY), code(dt.date(2025, 9, 1))] == ["T-2026-001", "T-2026-002", "T-2025-001"]


@pytest.mark.parametrize(
    ("values", "refused"),
    [
        ({"collected_on": dt.date(2026, 11, 26)}, "collected_on"),
        ({"collected_on": dt.date(1815, 6, 18)}, "collected_on"),
        ({"collected_on": DAY, "hours": -1.0}, "hours"),
        ({"collected_on": DAY, "km": 1e6}, "km"),
    ],
)
def test_trips_that_cannot_have_been_are_refused(
    session: Session, today: dt.date, values: dict[str, Any], refused: str
) -> None:
    with pytest.raises(Invalid) as error:
        create_trip(session, "Ana Seabra", values=values, today=today)

    assert list(error.value.errors) == [refused]


def test_the_lots_of_a_trip_get_its_new_day(session: Session, maker: Any, today: dt.date) -> None:
    trip = maker.trip()
    lot = maker.lot(trip_id=trip.id)

    change_trip(session, "Ana Seabra", row=trip, values={"collected_on": dt.date(2026, 10, 22)}, today=today)

    assert (trip.collected_on, lot.collected_on) == (dt.date(2026, 10, 22), dt.date(2026, 10, 22))


def test_a_day_that_does_not_fit_a_lot_is_refused_and_nothing_moves(
    session: Session, maker: Any, today: dt.date
) -> None:
    trip = maker.trip()
    lot = maker.lot(trip_id=trip.id, code="2026/1", tested_on=dt.date(2026, 10, 25))

    with pytest.raises(Invalid) as refused:
        change_trip(session, "Ana Seabra", row=trip, values={"collected_on": dt.date(2026, 11, 1)}, today=today)

    assert refused.value.errors == {
        "collected_on": "1 Nov 2026 does not fit the lot 2026/1 of this trip: The test would be before the"
        " collection on 1 Nov 2026. Correct one of the dates."
    }
    assert (trip.collected_on, lot.collected_on) == (DAY, DAY)
