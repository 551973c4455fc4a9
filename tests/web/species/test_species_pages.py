"""The pages of the catalogue and of own figures."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.models import Override
from nursery.services.setup import set_up
from nursery.services.species import set_figure
from tests.web.conftest import Browser

PAGE = "/species/arbutus-unedo"
PURITY = f"{PAGE}/figures/seed.purity"
MONTHS = f"{PAGE}/figures/collecting.seed_months"


@pytest.fixture(autouse=True)
def _species(session: Session) -> None:
    set_up(session, "Ana")
    session.commit()


def _own(session: Session) -> list[Any]:
    return [(row.figure, row.value, row.reason) for row in session.scalars(select(Override))]


def test_every_species_page_opens(client: Browser, session: Session) -> None:
    answers = {key: client.get(f"/species/{key}").status_code for key in load_catalog().species}
    assert answers == dict.fromkeys(answers, 200)


def test_the_id_of_a_species_leads_to_its_page(client: Browser) -> None:
    answer = client.get("/species/1")
    assert answer.status_code == 302
    assert client.get(answer.location).status_code == 200


def test_an_unknown_species_or_figure_is_not_found(client: Browser) -> None:
    paths = ("/species/taxus", f"{PAGE}/figures/seed.colour", "/species/99999999999999999999")
    assert [client.get(path).status_code for path in paths] == [404, 404, 404]


def test_the_list_asks_the_same_questions_of_one_and_of_three_own_figures(
    app: Flask, client: Browser, session: Session, count_queries: Any
) -> None:
    found = []
    figures = [("seed.purity", 0.5), ("seed.extraction_yield", 0.02), ("seed.fruit_kg_per_mother", 3.0)]
    for number, (figure, value) in enumerate(figures, 1):
        set_figure(session, "Ana", key="arbutus-unedo", figure=figure, value=value, reason="ours")
        session.commit()
        if number in (1, 3):
            with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as queries:
                assert client.get("/species").status_code == 200
            found.append(len(queries))
    assert found == [5, 5]  # own figures twice, species, batches, extractions


@pytest.mark.parametrize("typed", ["72 %", "72", "0.72", "0,72"])
def test_a_share_typed_in_any_way_is_kept_as_a_fraction(client: Browser, session: Session, typed: str) -> None:
    answer = client.submit(PURITY, {"value": typed, "reason": "weighed by hand"})
    assert answer.status_code == 303
    assert answer.location == f"{PAGE}#figure-seed-purity"
    assert _own(session) == [("seed.purity", 0.72, "weighed by hand")]


def test_the_page_then_tells_both_figures(client: Browser) -> None:
    client.submit(PURITY, {"value": "72 %", "reason": "weighed by hand"})
    page = client.get(PAGE).get_data(as_text=True)
    assert ("Our own" in page, "weighed by hand" in page, "The catalogue says 95 %" in page) == (True, True, True)


def test_months_are_ticked(client: Browser, session: Session) -> None:
    answer = client.submit(MONTHS, {"value": ["12", "1", "10"], "reason": "ripe earlier here"})
    assert answer.status_code == 303
    assert _own(session) == [("collecting.seed_months", [1, 10, 12], "ripe earlier here")]


@pytest.mark.parametrize(
    ("path", "typed", "told"),
    [
        (PURITY, "170", "is"),
        (PURITY, "mostly", "mostly"),
        (PURITY, "", "must be filled in"),
        (MONTHS, [], "Tick at least one month."),
        (f"{PAGE}/figures/storage.class", "hardy", "Not a valid choice"),
        (f"{PAGE}/figures/storage.seed_life_days", "-3", "Write a number from 1 to 36,500."),
        (f"{PAGE}/figures/protocols.chilled-pricked-out.seeds_per_cell", "1.5", "whole number"),
    ],
)
def test_what_cannot_be_is_refused_and_the_reason_stays_typed(
    client: Browser, session: Session, path: str, typed: Any, told: str
) -> None:
    answer = client.submit(path, {"value": typed, "reason": "counted by Rui"})
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert (told in page, "counted by Rui" in page) == (True, True)
    assert session.scalar(select(func.count()).select_from(Override)) == 0


def test_without_a_reason_nothing_is_written_and_the_value_stays_typed(client: Browser, session: Session) -> None:
    answer = client.submit(PURITY, {"value": "72 %", "reason": ""})
    assert answer.status_code == 422
    assert 'value="72 %"' in answer.get_data(as_text=True)
    assert _own(session) == []


def test_taking_back_returns_to_the_catalogue(client: Browser, session: Session) -> None:
    client.submit(PURITY, {"value": "72 %", "reason": "weighed by hand"})
    answer = client.submit(f"{PURITY}/take-back", page=PURITY)
    assert answer.status_code == 303
    assert _own(session) == []
    assert "Nobody has changed" not in client.get(PAGE).get_data(as_text=True)


def test_the_list_is_searched_sorted_and_exported(client: Browser) -> None:
    page = client.get("/species?q=carrasca&sort=-name").get_data(as_text=True)
    assert page.count('href="/species/quercus-') == 1
    table = client.get("/species.csv?q=carrasca").get_data(as_text=True).splitlines()
    assert len(table) == 2
    assert table[1].startswith("Quercus rotundifolia,Lam.,Fagaceae,")


def test_strange_questions_get_the_plain_list(client: Browser) -> None:
    answer = client.get("/species?_external=1&endpoint=x&sort=%00&storage=%F0&method='&file_format=z")
    assert answer.status_code == 200
