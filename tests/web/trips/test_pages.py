"""The pages of trips: the lots they gave, and the way to add one."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, Trip
from nursery.models.lots import Material
from tests.handmade_plans import a_line, a_need, a_plan
from tests.services.permits.permit_maker import make_permit


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


def filled(html: str, name: str) -> str:
    """What a field of the form holds."""
    (tag,) = re.findall(rf'<input[^>]* name="{name}"[^>]*>', html)
    found = re.search(r'value="([^"]*)"', tag)
    return found[1] if found else ""


def planned(session: Session, maker: Any, closes_on: dt.date = dt.date(2026, 12, 20)) -> None:
    """Acorns and cork oak cuttings wanted now, the acorns under a permit."""
    plan, oak = a_plan(session), maker.species("quercus-suber")
    season = {"opens_on": dt.date(2026, 10, 1), "closes_on": closes_on}
    for values in ({}, {"grams": None, "fruit_kg": None, "seeds": 40}):
        need = a_need(session, plan, oak, **season, **values)
        a_line(session, plan, maker.target(), need_id=need.id)
    maker.population(code="P-7", name="Ladeira", region_code="R1", basin="Alva", fruiting_plants=80)
    make_permit(session, {"species_id": oak.id, "cap_mg": 9_000_000}, number="COL 7")
    session.commit()


def test_a_trip_offers_the_lots_that_the_programme_wanted_filled_in(
    client: Any, session: Session, maker: Any
) -> None:
    planned(session, maker)
    maker.trip(code="T-1", collected_on=dt.date(2026, 11, 24))
    session.commit()
    html = client.get("/trips/1").text
    address, *others = re.findall(r'href="(/lots/new\?trip=T-1&amp;population=[^"]*)"', html)
    assert (address, others) == (
        "/lots/new?trip=T-1&amp;population=P-7&amp;permit=COL+7",
        ["/lots/new?trip=T-1&amp;population=P-7&amp;material=cuttings"],
    )

    form = client.get(address.replace("&amp;", "&")).text
    names = ("trip_id", "population_id", "collected_on", "permit_number")
    assert [filled(form, name) for name in names] == ["T-1", "P-7", "2026-11-24", "COL 7"]
    form = client.get(others[0].replace("&amp;", "&")).text
    assert re.search(
        r'<option[^>]* selected[^>]* value="cuttings"|value="cuttings"[^>]* (?:selected|checked)', form
    )


def test_what_the_trip_brought_home_is_not_offered_again(client: Any, session: Session, maker: Any) -> None:
    planned(session, maker)
    trip = maker.trip(code="T-1", collected_on=dt.date(2026, 11, 24))
    place = maker.population(code="P-8")
    maker.lot(population=place, trip_id=trip.id, collected_on=trip.collected_on, material=Material.SEED)
    session.commit()
    assert "Planned for these days" in client.get("/trips/1").text

    client.submit("/lots/new", {
        "trip_id": "T-1", "population_id": "P-7", "amount": "1", "unit": "kg", "material": "seed",
        "storage_place_id": "",
    })  # fmt: skip
    html = client.get("/trips/1").text
    assert "material=cuttings" in html
    assert "permit=COL" not in html


def test_an_outlined_trip_is_written_down_with_its_places(client: Any, session: Session, maker: Any) -> None:
    planned(session, maker)
    (key,) = set(re.findall(r'href="/programme/trips/([^"]*)"', client.get("/programme").text))
    html = client.get(f"/programme/trips/{key}").text
    assert f'href="/trips/new?outline={key}"' in html
    assert 'href="/lots/new?population=P-7&amp;permit=COL+7"' in html

    form = client.get(f"/trips/new?outline={key}").text
    assert "Planned: P-7 Quercus suber; P-7 Quercus suber" in form
    assert filled(form, "collected_on") == "2026-11-25"
    assert "Planned:" not in client.get("/trips/new?outline=1").text


def test_a_lot_of_an_outlined_trip_names_the_trip_that_was_written_down_in_its_week(
    client: Any, session: Session, maker: Any
) -> None:
    planned(session, maker, closes_on=dt.date(2026, 11, 28))
    maker.trip(code="T-5", collected_on=dt.date(2026, 11, 24))
    maker.trip(code="T-4", collected_on=dt.date(2026, 11, 20))
    session.commit()
    (key,) = set(re.findall(r'href="/programme/trips/([^"]*)"', client.get("/programme").text))

    page = client.get(f"/programme/trips/{key}").text
    assert 'href="/lots/new?population=P-7&amp;trip=T-5&amp;permit=COL+7"' in page


def test_a_trip_long_ago_offers_nothing(client: Any, session: Session, maker: Any) -> None:
    planned(session, maker)
    maker.trip(code="T-1", collected_on=dt.date(2025, 11, 24))
    session.commit()

    assert "Planned for these days" not in client.get("/trips/1").text
