"""The pages of what to collect."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Strategy
from nursery.planning.origin.strategies import PRESETS
from nursery.planning.origin.words import NeedPurpose, NeedSource, StrategyKind
from nursery.planning.rounding import whole
from nursery.services.catalogue import effective_entries
from tests.handmade_plans import a_line, a_need, a_plan


@pytest.fixture
def plan(session: Session, maker: Any, today: dt.date) -> Any:
    """Cork oak for one site: two populations, the season open."""
    plan, oak = a_plan(session), maker.species("quercus-suber")
    need = a_need(session, plan, oak, opens_on=today, closes_on=today + dt.timedelta(days=9))
    target = maker.target(site=maker.site(name="Azenha"))
    a_line(session, plan, target, need_id=need.id, shortfall=300, seeds_missing=1000)
    maker.population(name="Ladeira alta", region_code="R1", latitude=40.25, fruiting_plants=80)
    session.commit()
    return plan


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_without_a_plan_the_page_says_what_to_do(client: Any) -> None:
    for path in ("/needs", "/needs/sheets"):
        assert "What is to be collected follows from the plan" in client.get(path).text
    assert client.get("/needs.csv").text.strip() == (
        "Species,Region or basin,Source,What for,Season,From,Until,Material,Clean seed (g),Fruit (kg),Cuttings,"
        "Mother plants,For plants,Plan lines,Seeds or cuttings,Region of provenance,Basin"
    )


def test_the_list_tells_what_where_when_and_how_much(client: Any, plan: Any) -> None:
    shown = text_of(client.get("/needs").text)

    assert "Open, 10 days left" in shown
    assert "By the adopted plan “Plan by hand”, reckoned on 25 Nov 2026." in shown
    assert "no population known" not in shown
    row = next(csv.DictReader(io.StringIO(client.get("/needs.csv").text)))
    assert row == {
        "Species": "Quercus suber", "Region or basin": "R1", "Source": "Own region",
        "What for": "For plants lacking", "Season": "Open now", "From": "2026-11-25",
        "Until": "2026-12-04", "Material": "Seed", "Clean seed (g)": "20.0", "Fruit (kg)": "0.5", "Cuttings": "",
        "Mother plants": "30", "For plants": "300", "Plan lines": "1", "Seeds or cuttings": "1000",
        "Region of provenance": "R1", "Basin": "",
    }  # fmt: skip


def test_a_number_explains_itself_with_its_sources(client: Any, session: Session, plan: Any) -> None:
    shown = text_of(client.get("/needs/1").text)

    assert "TemaNord 2025:515" in shown
    assert "US Seeds of Success technical protocol §9" in shown
    assert "Fruit ÷ (crop of one plant × share taken)" in shown
    (entry,) = effective_entries(session).values()
    by_fruit = int(whole(0.5 / (entry.seed.fruit_kg_per_mother * 0.2)))
    assert f"Plants by that {by_fruit} At least or all there are 30" in shown
    assert "Seeds missing in all lines 1,000" in shown
    # The plan was made with other figures than the catalogue has now, and says so.
    assert "as the plan has it; the figure was changed since 10" in shown


def test_the_field_sheet_tells_where_to_go_and_what_to_mind(client: Any, plan: Any) -> None:
    html = client.get("/needs/1").text

    shown = text_of(html)
    assert "Ladeira alta" in shown
    assert 'href="geo:40.250000,-7.500000"' in html
    assert "Azenha, 10.2 km" in shown
    assert "Tall trees: collect from the ground with poles" in shown
    assert "Between rivers and sites" in shown
    assert len(re.findall(r'<li><span class="tick"></span>', html)) == 30


def test_a_need_without_a_population_says_so(client: Any, session: Session, maker: Any, plan: Any) -> None:
    ash = maker.species("fraxinus-angustifolia")
    need = a_need(session, plan, ash, region_code="", basin="Alva")
    maker.population(species=ash, basin="Brenha")
    session.commit()

    assert "no population known" in client.get("/needs").text
    shown = text_of(client.get(f"/needs/{need.id}").text)
    assert "No population of this species is known in Alva." in shown
    assert "1 population elsewhere is known; seed from it needs a decision on origin first." in shown


def test_an_old_sheet_warns(client: Any, session: Session, maker: Any, today: dt.date, plan: Any) -> None:
    old = a_plan(session, is_adopted=False)
    need = a_need(session, old, maker.species(), opens_on=today, closes_on=today - dt.timedelta(days=1))
    session.commit()

    shown = text_of(client.get(f"/needs/{need.id}").text)

    assert "This sheet belongs to an older plan." in shown
    assert "The collecting season is over. Make the plan again" in shown


def test_all_sheets_print_but_those_that_are_over(
    client: Any, session: Session, maker: Any, today: dt.date, plan: Any
) -> None:
    a_need(session, plan, maker.species(), opens_on=today, closes_on=today - dt.timedelta(days=1))
    cutting = maker.species("populus-nigra")
    a_need(session, plan, cutting, grams=None, fruit_kg=None, seeds=90)
    session.commit()

    html = client.get("/needs/sheets").text

    assert re.findall(r'<h2 id="sheet-(\d+)">', html) == ["1", "3"]
    assert "Male and female plants are separate: take from both." in html
    assert re.findall(r'<h2 id="sheet-(\d+)">', client.get("/needs/sheets?material=cuttings").text) == ["3"]


def test_the_populations_of_a_need_come_as_a_file(client: Any, session: Session, plan: Any) -> None:
    (row,) = csv.DictReader(io.StringIO(client.get("/needs/1/populations.csv").text))

    (entry,) = effective_entries(session).values()
    assert float(row.pop("Most to take (kg of fruit)")) == pytest.approx(80 * entry.seed.fruit_kg_per_mother * 0.2)
    assert float(row.pop("Distance (km)")) == pytest.approx(10.16, abs=0.01)
    assert row == {
        "Population": "P-002", "Name": "Ladeira alta", "Latitude": "40.25", "Longitude": "-7.5",
        "Elevation (m)": "", "Origin": "Unknown", "Fruiting plants": "80", "Nearest waiting site": "Azenha",
        "Last collected": "", "Lots": "0",
    }  # fmt: skip
    assert client.get("/needs/1/populations.xlsx").data[:2] == b"PK"


def test_the_pages_cost_the_same_for_one_need_and_for_three(
    client: Any, session: Session, maker: Any, count_queries: Any, plan: Any
) -> None:
    counted = []
    for more in ((), ("populus-nigra", "alnus-glutinosa")):
        for key in more:
            species = maker.species(key)
            need = a_need(session, plan, species)
            a_line(session, plan, maker.target(species=species), need_id=need.id)
            maker.lot(population=maker.population(species=species, region_code="R1"))
        session.commit()
        sizes = []
        for path in ("/needs", "/needs/sheets", "/needs/1"):
            with count_queries(client.application.extensions["nursery_sessions"].kw["bind"]) as statements:
                assert client.get(path).status_code == 200
            sizes.append(len(statements))
        counted.append(sizes)

    assert counted[0] == counted[1]


@pytest.mark.parametrize(
    "address",
    ["/needs?endpoint=x&_external=1&sort=nonsense&state=never&after=%00", "/needs/sheets?endpoint=x&q=%00"],
)
def test_nonsense_in_the_address_does_no_harm(client: Any, plan: Any, address: str) -> None:
    assert client.get(address).status_code == 200


def test_a_need_that_is_not_there_is_not_found(client: Any) -> None:
    for path in ("/needs/99", "/needs/99/populations.csv", "/needs/99999999999"):
        assert client.get(path).status_code == 404


def test_a_need_from_afar_for_the_shares_alone_says_so_and_where_it_may_come_from(
    client: Any, session: Session, maker: Any
) -> None:
    plan, oak = a_plan(session), maker.species("quercus-suber")
    site = maker.site(name="Azenha", region_code="R1", basin="Alva")
    composite = PRESETS[StrategyKind.COMPOSITE]
    session.add(Strategy(site_id=site.id, kind=composite.kind, shares=dict(composite.shares)))
    need = a_need(
        session, plan, oak, basin="Alva", source=NeedSource.FAR, purpose=NeedPurpose.SHARES, grams=12.0
    )  # fmt: skip
    a_line(session, plan, maker.target(site=site), need_id=need.id)
    maker.population(name="Outeiro", region_code="R3", basin="Brenha", indigenous_status="autochthonous")
    maker.population(name="Ladeira", region_code="R1", basin="Alva", indigenous_status="autochthonous")
    session.commit()

    shown = text_of(client.get("/needs").text)
    assert "far from R1, Alva" in shown
    assert "for the shares only" in shown
    sheet = text_of(client.get(f"/needs/{need.id}").text)
    assert "Collect Quercus suber far from R1, Alva" in sheet
    assert "Not needed for the number of plants" in sheet
    assert "Keep it apart" in sheet
    assert ("Outeiro" in sheet, "Ladeira" in sheet) == (True, False)
    row = next(csv.DictReader(io.StringIO(client.get("/needs.csv?source=far").text)))
    assert (row["Source"], row["What for"], row["Basin"]) == ("Far", "For the shares only", "Alva")
    assert client.get("/needs.csv?purpose=plants").text.count("\n") == 1
    programme = list(csv.DictReader(io.StringIO(client.get("/programme.csv").text)))
    assert [(one["Source"], one["What for"], one["Name"]) for one in programme] == [
        ("Far", "For the shares only", "Outeiro")
    ]
