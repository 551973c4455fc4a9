"""The pages of the ready stock forecast."""

from __future__ import annotations

import csv
import io
import re
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models.plans import LineStatus
from tests.handmade_plans import a_line, a_plan


@pytest.fixture
def plan(session: Session, maker: Any) -> Any:
    """Cork oak in good order and alder that lacks seed, at one site."""
    plan, site = a_plan(session), maker.site(name="Azenha")
    a_line(session, plan, maker.target(site=site), nursery_name="Horta")
    a_line(
        session, plan, maker.target(site=site, species=maker.species("alnus-glutinosa")), plants_to_plant=40,
        ready_plants=50, expected=20.0, p10=12, p90=26, probability=0.1, shortfall=24, status=LineStatus.COLLECT,
        nursery_name="Vale",
    )  # fmt: skip
    session.commit()
    return plan


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_without_a_plan_the_pages_say_what_to_do(client: Any, session: Session, maker: Any) -> None:
    site = maker.site()
    session.commit()
    for path in ("/stock", "/stock/sites", f"/stock/sites/{site.id}"):
        assert "The forecast of ready plants follows from the plan" in client.get(path).text
    for path in ("/stock.csv", "/stock/sites.csv", f"/stock/sites/{site.id}.csv"):
        assert len(client.get(path).text.splitlines()) == 1


def test_the_forecast_is_drawn_and_written(client: Any, plan: Any) -> None:
    html = client.get("/stock").text

    assert 'aria-label="Forecast 105 to 150 ready plants, expected 130, needed 110"' in html
    assert 'aria-label="Forecast 12 to 26 ready plants, expected 20, needed 50"' in html
    shown = text_of(html)
    assert "This is the plan&#39;s forecast" in shown
    assert "the lines of one species share its rates" in shown
    assert "species do well or badly independently" in shown
    assert "124 to 171 in 8 of 10 cases" in shown


def test_the_forecast_comes_as_a_file(client: Any, plan: Any) -> None:
    rows = list(csv.DictReader(io.StringIO(client.get("/stock.csv?by=nursery&nursery=Vale").text)))

    assert rows == [
        {
            "Season": "2027/28", "Species": "Alnus glutinosa", "Nursery": "Vale", "Container": "",
            "Ready from": "2027-11-01", "Ready until": "2027-11-01", "Plan lines": "1", "Plants to plant": "40",
            "Ready plants needed": "50", "Ready plants expected": "20.0", "Low (10 %)": "12.0",
            "High (90 %)": "26.0", "Plants short, seed still to collect": "24",
            "Plants short, no longer possible": "0", "Plants expected to arrive": "16.0", "Share met": "0.4",
            "Chance that all are met": "0.1",
        }
    ]  # fmt: skip
    assert client.get("/stock.xlsx").data[:2] == b"PK"


def test_a_column_sorts_one_way_and_then_the_other(client: Any, plan: Any) -> None:
    def order(address: str) -> list[str]:
        return re.findall(r'<th scope="row"><i class="taxon">(\w+)', client.get(address).text)

    assert order("/stock") == ["Alnus", "Quercus"]
    assert order("/stock?sort=-species") == ["Quercus", "Alnus"]
    assert order("/stock?sort=chance") == ["Alnus", "Quercus"]
    assert order("/stock?sort=-chance") == ["Quercus", "Alnus"]
    assert 'aria-sort="descending"' in client.get("/stock?sort=-chance").text


def test_a_season_without_lines_says_so(client: Any, plan: Any) -> None:
    assert "Nothing fits." in client.get("/stock?season=2040").text
    assert "Nothing fits." in client.get("/stock/sites?season=2040").text


def test_each_site_sees_what_it_will_get(client: Any, plan: Any) -> None:
    html = client.get("/stock/sites").text

    assert 'aria-label="83 % of the plants to plant are expected to arrive"' in html
    (row,) = csv.DictReader(io.StringIO(client.get("/stock/sites.csv").text))
    assert (row["Planting site"], row["Species"], row["Plants to plant"]) == ("Azenha", "2", "140")
    assert float(row["Plants expected to arrive"]) == 116.0


def test_the_page_of_a_site_lists_its_species(client: Any, session: Session, maker: Any, plan: Any) -> None:
    empty = maker.site()
    session.commit()

    shown = text_of(client.get("/stock/sites/1").text)

    assert "of 140 plants to plant: 83 %" in shown
    assert "Seed to collect" in shown
    rows = list(csv.DictReader(io.StringIO(client.get("/stock/sites/1.csv?status=collect").text)))
    assert [(row["Species"], row["Short of seed for"]) for row in rows] == [("Alnus glutinosa", "24")]
    assert "Nothing is planned for this site" in client.get(f"/stock/sites/{empty.id}").text
    for path in ("/stock/sites/99", "/stock/sites/99.csv"):
        assert client.get(path).status_code == 404


def test_the_pages_cost_the_same_for_one_row_and_for_three(
    client: Any, session: Session, maker: Any, count_queries: Any, plan: Any
) -> None:
    counted = []
    for more in ((), ("populus-nigra", "salix-alba", "ulmus-minor")):
        for key in more:
            target = maker.target(site=maker.site(), species=maker.species(key))
            a_line(session, plan, target, nursery_name=key)
        session.commit()
        sizes = []
        for path in ("/stock", "/stock?by=container", "/stock/sites", "/stock/sites/1"):
            with count_queries(client.application.extensions["nursery_sessions"].kw["bind"]) as statements:
                assert client.get(path).status_code == 200
            sizes.append(len(statements))
        counted.append(sizes)

    assert counted[0] == counted[1]


@pytest.mark.parametrize(
    "address",
    [
        "/stock?endpoint=x&_external=1&season=next&by=me&sort=--species&nursery=%00&q=%00",
        "/stock?season=99999999999999999999",
        "/stock/sites?season=-1&file_format=x",
        "/stock/sites/1?season=x&status=x&sort=x",
    ],
)
def test_nonsense_in_the_address_does_no_harm(client: Any, plan: Any, address: str) -> None:
    assert client.get(address).status_code == 200
