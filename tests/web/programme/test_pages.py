"""The pages of the collecting programme."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from typing import Any

import pytest
from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from nursery.models import CollectionNeed, Permit, PermitLine, Population
from tests.handmade_plans import a_line, a_need, a_plan


@pytest.fixture
def plan(session: Session, maker: Any) -> Any:
    """Cork oak of one population, of which a permit covers a part."""
    plan, oak = a_plan(session), maker.species("quercus-suber")
    need = a_need(session, plan, oak)
    a_line(session, plan, maker.target(site=maker.site(name="Azenha")), need_id=need.id)
    maker.population(name="Ladeira alta", region_code="R1", basin="Alva", fruiting_plants=80)
    permit = Permit(
        number="A 1", authority="Council", valid_from=dt.date(2027, 1, 1), valid_to=dt.date(2027, 12, 31),
        notice_days=14, conditions="No climbing.",
    )  # fmt: skip
    permit.lines = [PermitLine(species_id=oak.id, cap_mg=300_000)]
    session.add(permit)
    session.commit()
    return plan


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def rows(answer: Any) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(answer.text)))


def test_without_a_plan_the_pages_say_what_to_do(client: Any) -> None:
    for path in ("/programme", "/programme/asking"):
        assert "The programme follows from the plan" in client.get(path).text
    assert rows(client.get("/programme.csv")) == []
    assert rows(client.get("/programme/asking.csv")) == []


def test_the_programme_tells_where_when_and_under_which_permit(client: Any, plan: Any) -> None:
    shown = text_of(client.get("/programme").text)

    assert "Week 47 · Alva" in shown
    assert "Quercus suber , P-002: 500 g of fruit" in shown
    assert "permit A 1 for a part 200 g of fruit are not covered." in shown
    assert "It is more than permit A 1 still allows." in shown
    assert "common practice, no source; no trip of your own tells it yet" in shown


def test_the_programme_as_a_file(client: Any, plan: Any) -> None:
    (row,) = rows(client.get("/programme.csv"))

    assert (row["Week"], row["Species"], row["Population"], row["Permit"]) == (
        "2027-W47", "Quercus suber", "P-002", "A 1",
    )  # fmt: skip
    assert (row["Clean seed (g)"], row["Fruit (kg)"], row["Mother plants"]) == ("20.0", "0.5", "30")
    assert client.get("/programme.xlsx").data.startswith(b"PK")


def test_what_is_not_covered_becomes_a_list_for_the_authority(client: Any, plan: Any) -> None:
    (row,) = rows(client.get("/programme/asking.csv"))

    assert float(row["Amount (kg of fruit)"]) == pytest.approx(0.2, abs=1e-5)
    assert (row["Population"], row["Region of provenance"], row["Basin"]) == ("P-002", "R1", "Alva")
    assert row["Why it is asked"] == "It is more than permit A 1 still allows."
    assert "To be asked of the authority" in client.get("/programme/asking").text


def test_the_page_of_a_trip_has_all_that_the_crew_needs(client: Any, plan: Any) -> None:
    (row,) = rows(client.get("/programme.csv"))
    html = client.get(f"/programme/trips/{row['Trip']}").text
    shown = text_of(html)

    assert 'href="geo:40.100000,-7.500000"' in html
    assert (
        "Permit A 1 covers 300 g of fruit, less than is wanted: take no more than that, unless the authority"
        " allows the rest. Wanted: 500 g of fruit from 30 mother plants, alike from each."
    ) in shown
    assert "Conditions of the permit: No climbing." in shown
    assert "Tell the authority at least 14 days before. For this trip: by 8 Nov 2027." in shown
    assert "Tall trees: collect from the ground with poles" in shown
    assert "Never go alone to a river" in shown
    assert html.count('<p class="label-line"><span>Date') == 1
    each = client.get(f"/programme/trips/{row['Trip']}?labels=each").text
    assert each.count('<p class="label-line"><span>Date') == 30
    assert "Mother plant 30, weight" in each


def trip_page(client: Any) -> str:
    (row,) = rows(client.get("/programme.csv"))
    return text_of(client.get(f"/programme/trips/{row['Trip']}").text)


def test_a_trip_without_a_permit_says_so_at_each_population(client: Any, session: Session, plan: Any) -> None:
    session.execute(delete(PermitLine))
    session.commit()

    assert "no permit No permit names the species. Not before a permit: collect none here" in trip_page(client)
    assert "P-002: 500 g of fruit (not before a permit)" in text_of(client.get("/programme").text)


def test_a_notice_and_what_was_taken_are_told(client: Any, session: Session, plan: Any, maker: Any) -> None:
    need = session.scalars(select(CollectionNeed)).one()
    need.opens_on, need.closes_on = dt.date(2026, 11, 1), dt.date(2026, 12, 12)
    permit = session.scalars(select(Permit)).one()
    permit.valid_from, permit.lines[0].cap_mg = dt.date(2026, 1, 1), 5_000_000
    place = session.scalars(select(Population)).one()
    maker.lot(population=place, collected_on=dt.date(2026, 11, 2), amount_mg=0, fruit_mg=250_000)
    session.commit()

    notice = "Notice of 14 days: not before 9 Dec 2026, and only if the authority is told today."
    assert trip_page(client).count(notice) == 2
    assert "250 g of fruit were taken here this season already." in trip_page(client)
    assert notice in text_of(client.get("/programme").text)
    (row,) = rows(client.get("/programme.csv"))
    assert row["Lawful from"] == "2026-12-09"


def test_a_trip_that_is_no_more_is_told(client: Any, plan: Any) -> None:
    answer = client.get("/programme/trips/2027-W01-1")

    assert answer.status_code == 404
    assert "no such trip any more" in answer.text
