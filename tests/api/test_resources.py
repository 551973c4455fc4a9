"""Lists over HTTP: what the pages show, without what is private."""

from __future__ import annotations

import json
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Lot, Person, Population, Task, Trip
from nursery.planning.generalising import generalise
from nursery.services.interface.resources import RESOURCES
from nursery.services.interface.tables import TABLES
from nursery.services.listing import ListQuery, export_rows
from nursery.services.lots import LISTING as LOTS
from tests.conftest import TODAY

PLAIN = [*RESOURCES, *TABLES, "plan", "calculators"]


def walk(client: FlaskClient, path: str) -> list[dict[str, Any]]:
    """All rows of a list, page by page."""
    found, after = [], ""
    while True:
        answer = client.get(path, query_string={"size": 40, **({"after": after} if after else {})})
        assert answer.status_code == 200, answer.get_json()
        found += answer.get_json()["items"]
        after = answer.get_json()["after"]
        if not after:
            return found


def test_every_list_is_what_its_description_says(demo_client: FlaskClient) -> None:
    paths = demo_client.get("/api/v1/openapi.json").get_json()["paths"]
    for name in PLAIN:
        answer = demo_client.get(f"/api/v1/{name}")
        told = paths[f"/api/v1/{name}"]["get"]["responses"]["200"]["content"]["application/json"]["schema"]

        assert answer.status_code == 200
        assert list(Draft202012Validator(told).iter_errors(answer.get_json())) == []


@pytest.mark.parametrize("name", RESOURCES)
def test_pages_hold_each_record_once(demo_client: FlaskClient, demo_records: Session, name: str) -> None:
    rows = walk(demo_client, f"/api/v1/{name}")
    listing = RESOURCES[name].listing(TODAY)
    expected = [row.id for row in export_rows(demo_records, listing, ListQuery())]

    assert len(expected) > 10
    assert [row["id"] for row in rows] == expected
    assert demo_client.get(f"/api/v1/{name}").get_json()["total"] == len(expected)


@pytest.mark.parametrize("name", RESOURCES)
def test_one_record_is_its_row_of_the_list(demo_client: FlaskClient, name: str) -> None:
    row = demo_client.get(f"/api/v1/{name}?size=1").get_json()["items"][0]

    assert demo_client.get(f"/api/v1/{name}/{row['id']}").get_json() == row


def test_filter_search_and_order_are_those_of_the_page(demo_client: FlaskClient, demo_records: Session) -> None:
    asked = ListQuery(q="qu", filters={"material": "seed"}, sort="-collected_on")
    rows = demo_client.get("/api/v1/lots?q=qu&material=seed&sort=-collected_on").get_json()["items"]

    assert rows
    assert [row["code"] for row in rows] == [row.code for row in export_rows(demo_records, LOTS, asked)]


def test_masses_are_grams_and_days_iso(client: FlaskClient, session: Session, maker: Any) -> None:
    lot = maker.lot(amount_mg=12_345, purity=0.9)
    session.commit()
    row = client.get(f"/api/v1/lots/{lot.id}").get_json()

    assert (row["amount"], row["purity"], row["collected_on"], row["hold"]) == (12.345, 0.9, "2026-10-20", False)
    assert (row["population_id"], row["species_key"]) == (lot.population_id, "quercus-suber")


def test_records_put_aside_are_listed_only_when_asked_for(
    client: FlaskClient, session: Session, maker: Any
) -> None:
    from nursery.services import records

    site = maker.site()
    records.archive(session, "Ana Seabra", site)
    session.commit()

    assert client.get("/api/v1/sites").get_json()["items"] == []
    assert [row["archived"] for row in client.get("/api/v1/sites?archived=yes").get_json()["items"]] == [True]
    assert client.get(f"/api/v1/sites/{site.id}").get_json()["archived"] is True


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ("colour=red", "colour"),
        ("material=stone", "material"),
        ("sort=notes", "sort"),
        ("sort=;drop", "sort"),
        ("size=0", "size"),
        ("size=501", "size"),
        ("size=-1", "size"),
        ("size=%C2%B2", "size"),
        ("after=nonsense", "after"),
        ("archived=maybe", "archived"),
        ("ripening_year=99999999999999999999", "ripening_year"),
        ("q=a%00b", "q"),
        (f"q={'a' * 201}", "q"),
    ],
)
def test_nothing_is_guessed(demo_client: FlaskClient, asked: str, field: str) -> None:
    answer = demo_client.get(f"/api/v1/lots?{asked}")

    assert (answer.status_code, list(answer.get_json()["errors"])) == (422, [field])


def test_a_page_after_the_last_row_is_empty_and_the_end(client: FlaskClient, session: Session, maker: Any) -> None:
    sites = [maker.site() for _number in range(3)]
    session.commit()
    after = client.get("/api/v1/sites?size=2").get_json()["after"]
    session.delete(sites[-1])
    session.commit()
    answer = client.get("/api/v1/sites", query_string={"size": 2, "after": after}).get_json()

    assert (answer["items"], answer["after"]) == ([], None)


def test_sensitive_stands_are_told_as_in_data_for_others(
    client: FlaskClient, session: Session, maker: Any
) -> None:
    hidden = maker.population(
        name="Secret gorge", latitude=40.1234, longitude=-7.5678, elevation_m=512.0, is_sensitive=True,
        notes="behind the mill",
    )  # fmt: skip
    maker.lot(population=hidden)
    shown = maker.population(name="Open bank", latitude=40.1234, longitude=-7.5678, elevation_m=512.0)
    session.commit()
    place = generalise(40.1234, -7.5678)
    row = client.get(f"/api/v1/populations/{hidden.id}").get_json()

    assert (row["latitude"], row["longitude"], row["uncertainty"]) == place
    assert (row["name"], row["elevation"]) == (None, None)
    assert client.get(f"/api/v1/populations/{shown.id}").get_json()["latitude"] == 40.1234
    assert client.get("/api/v1/lots").get_json()["items"][0]["population"] is None
    for resource in ("populations", "lots"):
        assert client.get(f"/api/v1/{resource}?q=gorge").get_json()["items"] == []
    assert client.get("/api/v1/populations?sort=latitude").status_code == 422


def test_no_name_remark_or_feed_of_a_person_leaves(demo_client: FlaskClient, demo_records: Session) -> None:
    everything = json.dumps([walk(demo_client, f"/api/v1/{name}") for name in RESOURCES], ensure_ascii=False)
    everything += "".join(demo_client.get(f"/api/v1/{name}").get_data(as_text=True) for name in TABLES)
    people = demo_records.scalars(select(Person)).all()
    private = {text for one in people for text in (one.name, one.feed_token)}
    private |= set(demo_records.scalars(select(Trip.people).where(Trip.people != "")))
    private |= set(demo_records.scalars(select(Task.done_by).where(Task.done_by != "")))
    hidden = set(demo_records.scalars(select(Population.name).where(Population.is_sensitive)))
    private |= hidden - set(demo_records.scalars(select(Population.name).where(~Population.is_sensitive)))
    for model in (Trip, Lot, Batch, Population):
        private |= set(demo_records.scalars(select(model.notes).where(model.notes != "")))

    assert len(private) > 20
    assert [text for text in private if text and json.dumps(text, ensure_ascii=False)[1:-1] in everything] == []


@pytest.mark.parametrize("path", ["lots/999999999", "sites/0", "lots/abc", "batches/99999999999999999999"])
def test_what_is_not_there_is_not_found_in_json(client: FlaskClient, path: str) -> None:
    answer = client.get(f"/api/v1/{path}")

    assert (answer.status_code, list(answer.get_json()["errors"])) == (404, ["request"])


@pytest.mark.parametrize("name", RESOURCES)
def test_no_list_has_a_column_for_people_or_free_remarks(name: str) -> None:
    listing = RESOURCES[name].listing(TODAY)
    private = {"notes", "reason", "people", "person", "done_by", "email", "phone", "description", "remarks"}

    assert {column.key for column in listing.columns} & private == set()
    assert {each.key for each in listing.filters} & private == set()
