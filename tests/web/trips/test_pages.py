"""The pages of trips: the lots they gave, and the way to add one."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, Trip


def test_a_trip_gets_its_code_from_its_year(client: Any, session: Session) -> None:
    answer = client.submit(
        "/trips/new", {"collected_on": "2026-10-20", "people": "Ana, Rui", "hours": "6,5", "km": "84"}
    )

    trip = session.scalars(select(Trip)).one()
    assert (answer.status_code, trip.code, trip.hours, trip.km) == (303, "T-2026-001", 6.5, 84)


def test_a_new_trip_is_dated_today_until_one_says_otherwise(client: Any) -> None:
    assert 'value="2026-11-25"' in client.get("/trips/new").text


def test_a_trip_in_the_future_is_refused(client: Any, session: Session) -> None:
    answer = client.submit("/trips/new", {"collected_on": "2026-11-26"})

    assert answer.status_code == 422
    assert "The trip would lie in the future. Write it down when you are back." in answer.text
    assert session.scalars(select(Trip)).all() == []


def test_one_trip_gives_several_lots(client: Any, session: Session, maker: Any) -> None:
    trip = maker.trip(code="T-2026-014")
    for species in ("quercus-suber", "salix-alba"):
        maker.population(species=maker.species(species))
    session.commit()
    page = client.get(f"/trips/{trip.id}").text

    assert 'href="/lots/new?trip=T-2026-014"' in page
    form = client.get("/lots/new?trip=T-2026-014").text
    assert 'value="T-2026-014"' in form
    assert 'value="2026-10-20"' in form

    for code in ("P-002", "P-003"):
        lot = {
            "trip_id": "T-2026-014",
            "population_id": code,
            "amount": "1",
            "unit": "kg",
            "material": "seed",
            "storage_place_id": "",
        }
        assert client.submit("/lots/new", lot).status_code == 303

    page = client.get(f"/trips/{trip.id}").text
    lots = session.scalars(select(Lot).order_by(Lot.id)).all()
    assert [(lot.trip_id, lot.collected_on) for lot in lots] == [(trip.id, trip.collected_on)] * 2
    assert [f'href="/lots/{lot.id}"' in page for lot in lots] == [True, True]


def test_an_unknown_trip_in_the_address_gives_an_empty_form(client: Any) -> None:
    assert client.get("/lots/new?trip=%00T-1").status_code == 200
