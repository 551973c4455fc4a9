"""The pages of populations; what all record pages share is tested here on them."""

from __future__ import annotations

import re
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Change, Population
from nursery.services import records

TYPED = {
    "name": " Azenha do Meio ",
    "species_id": "sobreiro",
    "latitude": "40,1235",
    "longitude": "-7.5",
    "elevation_m": "312,5",
    "fruiting_plants": "40",
    "indigenous_status": "autochthonous",
    "basin": "Ribeira Clara",
    "region_code": "RP-3",
    "notes": "Gate closed\r\non Sundays",
}


def population(session: Session) -> Population:
    session.rollback()  # to see what the pages have committed
    return session.scalars(select(Population)).one()


def errors(html: str) -> dict[str, str]:
    """What the page says at each field."""
    return {
        name: text.replace("&#39;", "'")
        for name, text in re.findall(r'id="(\w+)-error">.*?<span>(.*?)</span>', html, re.DOTALL)
    }


def typed(html: str, name: str) -> str | None:
    found = re.search(rf'<input[^>]*name="{name}"[^>]*value="([^"]*)"', html)
    return found[1] if found else None


def test_a_population_is_written_down_as_typed_by_people(client: Any, session: Session) -> None:
    answer = client.submit("/populations/new", TYPED)

    assert (answer.status_code, answer.location) == (303, "/populations/1")
    row = population(session)
    assert (row.code, row.name, row.species.scientific_name) == ("P-001", "Azenha do Meio", "Quercus suber")
    assert (row.latitude, row.longitude, row.elevation_m) == (40.1235, -7.5, 312.5)
    assert (row.fruiting_plants, row.indigenous_status.value) == (40, "autochthonous")
    assert (row.basin, row.region_code, row.notes) == ("Ribeira Clara", "RP-3", "Gate closed\non Sundays")


def test_the_page_after_saving_tells_what_was_understood(client: Any) -> None:
    answer = client.submit("/populations/new", TYPED, follow_redirects=True)

    assert "“P-001 · Azenha do Meio” was saved." in answer.text
    assert "“sobreiro” was understood as Quercus suber." in answer.text
    assert "312.5 m" in answer.text


def test_a_stand_leads_on_to_where_its_seed_went(client: Any, maker: Any, session: Session) -> None:
    stand = maker.population()
    session.commit()

    assert f'href="/trace/stands/{stand.id}"' in client.get(f"/populations/{stand.id}").text
    assert client.get(f"/trace/stands/{stand.id}").status_code == 200


def test_refused_input_keeps_all_typing_and_writes_nothing(client: Any, session: Session) -> None:
    bad = {**TYPED, "species_id": "Quercus subber", "elevation_m": "12000", "fruiting_plants": "2,5", "name": " "}

    answer = client.submit("/populations/new", bad)

    assert answer.status_code == 422
    assert errors(answer.text) == {
        "name": "Name must be filled in.",
        "species_id": "“Quercus subber” is no species of the catalogue. Did you mean Quercus suber, Quercus"
        " ilex, Quercus robur?",
        "elevation_m": "12,000 is out of range. Give a number from -450 to 9,000.",
        "fruiting_plants": "2,5 is not a whole number. Leave the decimals out.",
    }
    kept = {
        name: typed(answer.text, name) for name in ("species_id", "elevation_m", "fruiting_plants", "latitude")
    }
    assert kept == {
        "species_id": "Quercus subber",
        "elevation_m": "12000",
        "fruiting_plants": "2,5",
        "latitude": "40,1235",
    }
    assert "Gate closed\non Sundays</textarea>" in answer.text.replace("\r", "")
    assert session.scalar(select(func.count(Population.id))) == 0
    assert session.scalar(select(func.count(Change.id))) == 0


def test_a_refusal_of_the_service_stands_at_its_field_and_keeps_the_typing(
    client: Any, session: Session, maker: Any
) -> None:
    maker.population(code="P-007")
    session.commit()

    answer = client.submit("/populations/new", {**TYPED, "code": "P-007"})

    assert answer.status_code == 422
    assert errors(answer.text) == {
        "code": "“P-007” is taken already. Choose another, or open the existing record."
    }
    assert typed(answer.text, "elevation_m") == "312,5"
    assert session.scalar(select(func.count(Population.id))) == 1


@pytest.mark.parametrize(
    ("latitude", "longitude", "stored"),
    [
        ("40.123, -7.5", "", (40.123, -7.5)),
        ("40,123; -7,5", "", (40.123, -7.5)),
        ("(40.123 -7.5)", "", (40.123, -7.5)),
        ("40.123,-7.5", "", (40.123, -7.5)),
        ("40°07'24\"N 7°30'00\"W", "", (40.123333, -7.5)),
        ("7°30'O 40°07,4'N", "", (40.123333, -7.5)),
        ("40° 7.4'", "7º30’W", (40.123333, -7.5)),
    ],
)
def test_coordinates_are_read_as_people_have_them(
    client: Any, session: Session, latitude: str, longitude: str, stored: tuple[float, float]
) -> None:
    client.submit("/populations/new", {**TYPED, "latitude": latitude, "longitude": longitude})

    row = population(session)
    assert (row.latitude, row.longitude) == stored


@pytest.mark.parametrize(
    ("latitude", "longitude", "message"),
    [
        ("", "-7.5", {"latitude": "Latitude must be filled in."}),
        ("north", "-7.5", {"latitude": "“north” is not a number. Write digits, such as 1250 or 0.5."}),
        (
            "140.1",
            "7.5",
            {
                "latitude": "140.1 is off the globe as a latitude, which lies between -90 and 90."
                " Are latitude and longitude swapped?"
            },
        ),
        ("40.1", "-190", {"longitude": "-190 is out of range. Give a number from -180 to 180."}),
        ("40.1, 200.5", "", {"longitude": "200.5 is out of range. Give a number from -180 to 180."}),
        ("40°75'N", "-7.5", {"latitude": "“40°75'N” has minutes or seconds of 60 or more. Correct them."}),
        ("nan", "inf", {"latitude": "“nan” is not a number. Write digits, such as 1250 or 0.5.",
                        "longitude": "“inf” is not a number. Write digits, such as 1250 or 0.5."}),
    ],
)  # fmt: skip
def test_points_that_cannot_be_are_refused(
    client: Any, session: Session, latitude: str, longitude: str, message: dict[str, str]
) -> None:
    answer = client.submit("/populations/new", {**TYPED, "latitude": latitude, "longitude": longitude})

    assert (answer.status_code, errors(answer.text)) == (422, message)
    assert session.scalar(select(func.count(Population.id))) == 0


def test_a_change_shows_in_the_history_with_names_not_numbers(client: Any, session: Session, maker: Any) -> None:
    maker.population(name="Azenha", species=maker.species("quercus-ilex"))
    session.commit()

    client.submit("/populations/1/edit", {**TYPED, "version": "1"})
    page = client.get("/populations/1").text

    assert "Name: Azenha → Azenha do Meio" in page
    assert "Species: Quercus ilex → Quercus suber" in page
    assert "Elevation: nothing → 312.5 m" in page
    assert "Ana Seabra" in page
    assert population(session).code == "P-001"


def test_the_edit_form_gives_back_what_it_was_given(client: Any, session: Session) -> None:
    client.submit("/populations/new", TYPED)
    page = client.get("/populations/1/edit").text
    names = ("code", "name", "species_id", "latitude", "longitude", "elevation_m", "fruiting_plants", "version")
    shown = {name: typed(page, name) or "" for name in names}

    answer = client.submit("/populations/1/edit", {**TYPED, **shown})

    assert shown["latitude"] == "40.1235"
    assert (answer.status_code, population(session).version) == (303, 1)


def test_a_conflict_shows_both_versions_and_loses_no_typing(client: Any, session: Session, maker: Any) -> None:
    row = maker.population(name="Azenha", elevation_m=200.0)
    session.commit()
    records.update(session, "Rui Pinto", row, {"name": "Azenha Velha"})
    session.commit()

    answer = client.submit("/populations/1/edit", {**TYPED, "version": "1"})

    assert answer.status_code == 409
    assert "Somebody else changed this record while you were typing. Nothing was overwritten." in answer.text
    assert '<th scope="row">Name</th><td>Azenha do Meio</td><td>Azenha Velha</td>' in answer.text
    assert '<th scope="row">Elevation</th><td>312.5 m</td><td>200 m</td>' in answer.text
    assert typed(answer.text, "elevation_m") == "312,5"
    assert typed(answer.text, "version") == "2"
    assert population(session).name == "Azenha Velha"


def test_saving_again_after_a_conflict_is_a_choice_that_counts(client: Any, session: Session, maker: Any) -> None:
    maker.population()
    session.commit()
    client.submit("/populations/1/edit", {**TYPED, "name": "Moinho", "version": "1"})

    refused = client.submit("/populations/1/edit", {**TYPED, "version": "1"})
    again = client.submit("/populations/1/edit", {**TYPED, "version": typed(refused.text, "version")})

    assert (again.status_code, population(session).name) == (303, "Azenha do Meio")


@pytest.mark.parametrize("version", ["", "x", "-1", "9" * 40, "0"])
def test_a_form_without_its_version_overwrites_nothing(
    client: Any, session: Session, maker: Any, version: str
) -> None:
    maker.population(name="Azenha")
    session.commit()

    answer = client.submit("/populations/1/edit", {**TYPED, "version": version})

    assert (answer.status_code, population(session).name) == (409, "Azenha")


def test_archiving_and_bringing_back(client: Any, session: Session, maker: Any) -> None:
    maker.population()
    session.commit()

    gone = client.submit("/populations/1/archive", page="/populations/1", follow_redirects=True)
    assert "was archived. Its history stays." in gone.text
    assert "This record is archived" in gone.text
    assert population(session).archived_at is not None

    back = client.submit("/populations/1/restore", page="/populations/1", follow_redirects=True)
    assert "is back in the lists." in back.text
    assert population(session).archived_at is None
    actions = session.scalars(select(Change.action).order_by(Change.id)).all()
    assert actions == ["archived", "restored"]


def test_archiving_needs_a_post_with_its_token(client: Any, session: Session, maker: Any) -> None:
    maker.population()
    session.commit()

    answers = [client.get("/populations/1/archive").status_code, client.post("/populations/1/archive").status_code]

    assert answers == [405, 403]
    assert population(session).archived_at is None


@pytest.mark.parametrize(
    "path", ["/populations/9", "/populations/9/edit", f"/populations/{'9' * 30}", "/populations/x"]
)
def test_a_record_that_is_not_there_is_not_found(client: Any, path: str) -> None:
    assert client.get(path).status_code == 404
