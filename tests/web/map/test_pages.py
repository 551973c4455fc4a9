"""The page of the map: what is drawn, links that move it, filters, tables."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from html import unescape
from typing import Any

import numpy as np
import pytest
from flask import Flask
from sqlalchemy.orm import Session

from nursery.models import Population
from tests.web.conftest import Browser


@pytest.fixture
def places(session: Session, maker: Any) -> None:
    maker.population(code="P-1", name="Morzelo", latitude=39.7, longitude=-5.9, region_code="GV-A")
    maker.population(code="P-2", name="Azimora", latitude=39.2, longitude=-4.9)
    maker.site(code="S-1", name="Trigonda", latitude=39.5, longitude=-5.4)
    maker.nursery(name="Pelindra yard", latitude=39.4, longitude=-5.2)
    session.commit()


def marks(html: str) -> list[tuple[str, str]]:
    """Address and name of each mark of the wide sheet."""
    wide = html.split('class="map map-wide"')[1].split("</svg>", maxsplit=1)[0]
    return [
        (unescape(address), unescape(name))
        for address, name in re.findall(r'class="map-mark" href="([^"]+)" aria-label="([^"]+)"', wide)
    ]


def test_an_empty_map_says_what_to_do_first(client: Browser) -> None:
    assert "Nothing to draw yet" in client.get("/map").get_data(as_text=True)


@pytest.mark.usefixtures("places")
def test_every_place_is_a_link_with_a_title(client: Browser) -> None:
    html = client.get("/map").get_data(as_text=True)

    assert sorted(marks(html)) == [
        ("/nurseries/1", "Nursery: Pelindra yard"),
        ("/populations/1", "Population: P-1 · Morzelo · Quercus suber"),
        ("/populations/2", "Population: P-2 · Azimora · Quercus suber"),
        ("/sites/1", "Planting site: S-1 · Trigonda"),
    ]
    wide = html.split('class="map map-wide"')[1].split("</svg>")[0]
    assert re.findall(r">([\d.]+° [NSEW])<", wide) == [
        "5.8° W", "5.6° W", "5.4° W", "5.2° W", "5° W", "39.2° N", "39.4° N", "39.6° N"
    ]  # fmt: skip


@pytest.mark.usefixtures("places")
def test_the_buttons_are_links_that_zoom_and_move(client: Browser) -> None:
    html = client.get("/map").get_data(as_text=True)
    moves = {name: unescape(address) for name, address in re.findall(r'data-move="(\w+)" href="([^"]+)"', html)}

    assert moves["in"] == "/map?lat=39.450000&lon=-5.400000&zoom=1#map"
    assert moves["whole"] == "/map#map"
    closer = client.get(moves["in"]).get_data(as_text=True)
    assert [name for _address, name in marks(closer)] == [
        "Planting site: S-1 · Trigonda",
        "Nursery: Pelindra yard",
    ]
    assert "None on this part of the map." in closer
    west = unescape(re.findall(r'data-move="west" href="([^"]+)"', closer)[0])
    assert "lat=39.450000" in west


@pytest.mark.usefixtures("places")
def test_a_species_narrows_the_populations(client: Browser) -> None:
    html = client.get("/map?species=salix-alba").get_data(as_text=True)

    assert [address for address, _name in marks(html)] == ["/sites/1", "/nurseries/1"]


@pytest.mark.usefixtures("places")
@pytest.mark.parametrize(
    "asked", ["lat=x&lon=nan&zoom=inf", "lat=999&lon=0", "zoom=-7&season=zz&lines=0", "lat=1"]
)
def test_nonsense_counts_as_not_asked(client: Browser, asked: str) -> None:
    whole = client.get("/map").get_data(as_text=True)

    assert marks(client.get(f"/map?{asked}").get_data(as_text=True)) == marks(whole)


def test_thousands_of_places_come_quickly_and_by_as_many_queries_as_few(
    app: Flask, client: Browser, session: Session, maker: Any, count_queries: Callable[..., Any]
) -> None:
    engine = app.extensions["nursery_sessions"].kw["bind"]
    species = maker.population(code="P-first", latitude=39.5, longitude=-5.5).species_id
    session.commit()
    with count_queries(engine) as few:
        client.get("/map")
    places = np.random.default_rng(5).uniform((39, -6), (40, -5), (3000, 2)).tolist()
    session.add_all(
        Population(code=f"P-{number}", name="Stand", species_id=species, latitude=latitude, longitude=longitude)
        for number, (latitude, longitude) in enumerate(places)
    )
    session.commit()

    begun = time.perf_counter()
    with count_queries(engine) as many:
        html = client.get("/map").get_data(as_text=True)

    assert time.perf_counter() - begun < 4
    assert len(many) == len(few)
    counted = re.compile(r"(\d+) populations: ")
    counts = [int(found[1]) if (found := counted.match(name)) else 1 for _address, name in marks(html)]
    assert sum(counts) == 3001
    assert "3,001 places on this part of the map" in html
