"""Populations: codes of their own, points that can be, a species that stays."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Change, Population
from nursery.services.populations import change_population, create_population


@pytest.fixture
def values(maker: Any) -> dict[str, Any]:
    return {"code": "", "name": "Azenha", "species_id": maker.species().id, "latitude": 40.1, "longitude": -7.5}


def refusal(session: Session, values: dict[str, Any], today: dt.date) -> dict[str, str]:
    with pytest.raises(Invalid) as refused:
        create_population(session, "Ana Seabra", values=values, today=today)
    return refused.value.errors


def test_an_empty_code_gets_the_next_one_and_the_writing_is_on_record(
    session: Session, values: dict[str, Any], today: dt.date
) -> None:
    first = create_population(session, "Ana Seabra", values=values, today=today)
    second = create_population(session, "Ana Seabra", values=values, today=today)

    assert (first.code, second.code) == ("P-001", "P-002")
    noted = session.execute(select(Change.person, Change.action, Change.subject_id)).all()
    assert [tuple(row) for row in noted] == [
        ("Ana Seabra", "created", first.id),
        ("Ana Seabra", "created", second.id),
    ]


def test_a_taken_code_is_refused(session: Session, values: dict[str, Any], today: dt.date) -> None:
    create_population(session, "Ana Seabra", values={**values, "code": "P-007"}, today=today)

    assert refusal(session, {**values, "code": "P-007"}, today) == {
        "code": "“P-007” is taken already. Choose another, or open the existing record."
    }
    assert session.scalar(select(func.count(Population.id))) == 1


@pytest.mark.parametrize(
    ("column", "value", "message"),
    [
        ("elevation_m", 9500.0, "9,500 is out of range. Give a number from -450 to 9,000."),
        ("elevation_m", float("nan"), "nan is out of range. Give a number from -450 to 9,000."),
        ("fruiting_plants", -1, "-1 is out of range. Give a number from 0 to 10,000,000."),
        ("longitude", -190.0, "-190 is out of range. Give a number from -180 to 180."),
    ],
)
def test_absurd_figures_are_refused(
    session: Session, values: dict[str, Any], today: dt.date, column: str, value: float, message: str
) -> None:
    assert refusal(session, {**values, column: value}, today) == {column: message}


def test_swapped_coordinates_are_found_out_by_the_other_records(
    session: Session, values: dict[str, Any], today: dt.date
) -> None:
    create_population(session, "Ana Seabra", values=values, today=today)

    refused = refusal(session, {**values, "latitude": -7.52, "longitude": 40.11}, today)

    assert refused == {
        "latitude": "-7.52, 40.11 is far from all your records, but turned round it lies among them."
        " Latitude and longitude look swapped: latitude comes first. If this point is right, the places"
        " written down before are the swapped ones: correct those first."
    }


def test_a_first_record_with_swapped_coordinates_can_be_turned_round(
    session: Session, values: dict[str, Any], today: dt.date
) -> None:
    swapped = {**values, "latitude": -7.5, "longitude": 40.1}
    first, second = (
        create_population(session, "Ana Seabra", values=swapped, today=today) for _ in ("first", "second")
    )

    for row in (first, second):
        change_population(session, "Ana Seabra", row=row, values={**values, "code": row.code}, today=today)

    assert [(row.latitude, row.longitude) for row in (first, second)] == [(40.1, -7.5)] * 2


def test_a_point_in_the_open_sea_is_refused(session: Session, values: dict[str, Any], today: dt.date) -> None:
    assert refusal(session, {**values, "latitude": 0.0, "longitude": 0.0}, today) == {
        "latitude": "0, 0 lies in the open sea off Africa. Type the coordinates of the place itself."
    }


def test_a_far_point_that_is_not_swapped_is_taken(
    session: Session, values: dict[str, Any], today: dt.date
) -> None:
    create_population(session, "Ana Seabra", values=values, today=today)

    far = create_population(
        session, "Ana Seabra", values={**values, "latitude": -33.9, "longitude": 18.4}, today=today
    )

    assert far.code == "P-002"


def test_the_species_stays_once_lots_are_named_after_it(session: Session, maker: Any, today: dt.date) -> None:
    population = maker.lot().population
    columns = {"latitude": 40.1, "longitude": -7.5, "species_id": maker.species("quercus-ilex").id}

    with pytest.raises(Invalid) as refused:
        change_population(session, "Ana Seabra", row=population, values=columns, today=today)

    assert refused.value.errors == {
        "species_id": "Lots of this population are recorded as Quercus suber. Write the other species down as a"
        " population of its own."
    }


def test_a_newer_version_is_a_conflict(session: Session, maker: Any, today: dt.date) -> None:
    population = maker.population()
    columns = {"latitude": 40.1, "longitude": -7.5, "name": "Moinho"}
    change_population(session, "Ana Seabra", row=population, values=columns, version=1, today=today)

    with pytest.raises(Conflict):
        change_population(
            session, "Rui Pinto", row=population, values={**columns, "name": "Ponte"}, version=1, today=today
        )

    assert (population.name, population.version) == ("Moinho", 2)


def test_a_country_is_two_letters_that_name_one(session: Session, values: dict[str, Any], today: dt.date) -> None:
    told = refusal(session, {**values, "country": "XX"}, today)
    kept = create_population(
        session, "Ana Seabra", values={**values, "country": "PT", "register_reference": "PT/12"}, today=today
    )

    assert told == {"country": "“XX” is no country. Write its two letters, such as PT, ES or FR."}
    assert (kept.country, kept.register_reference, kept.is_sensitive) == ("PT", "PT/12", False)
