"""What to collect: whose lines, where to go, how much may be taken."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.errors import NotFound
from nursery.models.lots import Material
from nursery.models.places import IndigenousStatus
from nursery.planning.distance import distances
from nursery.services.listing import ListQuery, read_page
from nursery.services.needs import need_and_plan, needs_listing, needs_of, read_sheets
from tests.handmade_plans import a_line, a_need, a_plan

LONG_AGO = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)


def test_a_sheet_names_the_populations_of_the_region_nearest_first(session: Session, maker: Any) -> None:
    oak = maker.species("quercus-suber")
    far = maker.population(region_code="R1", latitude=40.6, fruiting_plants=20)
    near = maker.population(region_code="R1", latitude=40.25, longitude=-7.4)
    maker.population(region_code="R2")
    maker.population(region_code="", basin="Alva")
    maker.population(region_code="R1", archived_at=LONG_AGO)
    maker.population(region_code="R1", species=maker.species("alnus-glutinosa"))
    plan = a_plan(session)
    need = a_need(session, plan, oak)
    site, other = maker.site(name="Azenha"), maker.site(name="Ladeira", latitude=42.0)
    for place in (site, other):
        a_line(session, plan, maker.target(site=place), need_id=need.id, shortfall=150, seeds_missing=500)

    sheet = read_sheets(session, plan, [need.id])[need.id]

    assert [stand.code for stand in sheet.stands.here] == [near.code, far.code]
    assert [stand.nearest_site for stand in sheet.stands.here] == ["Azenha", "Azenha"]
    metres = distances([near.latitude, far.latitude], [near.longitude, far.longitude], 40.2, -7.4)
    assert [stand.distance_m for stand in sheet.stands.here] == pytest.approx(metres.tolist())
    assert sheet.stands.elsewhere == 2
    assert [(line.site_name, line.plants, line.seeds) for line in sheet.lines] == [
        ("Azenha", 150, 500),
        ("Ladeira", 150, 500),
    ]


def test_a_need_of_a_basin_looks_in_the_basin(session: Session, maker: Any) -> None:
    oak = maker.species("quercus-suber")
    here = maker.population(region_code="R1", basin="Alva")
    maker.population(region_code="R1", basin="Brenha")
    plan = a_plan(session)
    need = a_need(session, plan, oak, region_code="", basin="Alva")
    a_line(session, plan, maker.target(), need_id=need.id)

    sheet = read_sheets(session, plan, [need.id])[need.id]

    assert (sheet.origin, [stand.code for stand in sheet.stands.here]) == ("Alva", [here.code])


def test_a_fifth_of_the_crop_is_the_most_that_is_taken(session: Session, maker: Any) -> None:
    oak = maker.species("quercus-suber")
    maker.population(region_code="R1", fruiting_plants=10)
    maker.population(region_code="R1", fruiting_plants=None)
    plan = a_plan(session)
    need = a_need(session, plan, oak)
    a_line(session, plan, maker.target(), need_id=need.id)

    sheet = read_sheets(session, plan, [need.id])[need.id]

    assert sheet.entry is not None
    crop = sheet.entry.seed.fruit_kg_per_mother
    assert sorted(stand.most or 0 for stand in sheet.stands.here) == [0, pytest.approx(10 * crop * 0.2)]
    assert sheet.most == pytest.approx(2 * crop)
    assert (sheet.fruiting, sheet.wanted) == (10, 0.5)


def test_cuttings_are_counted_not_weighed(session: Session, maker: Any) -> None:
    poplar = maker.species("populus-nigra")
    maker.population(species=poplar, region_code="R1", fruiting_plants=4)
    plan = a_plan(session)
    need = a_need(session, plan, poplar, grams=None, fruit_kg=None, seeds=120)
    a_line(session, plan, maker.target(species=poplar), need_id=need.id)

    sheet = read_sheets(session, plan, [need.id])[need.id]

    assert (sheet.is_cuttings, sheet.wanted, sheet.most) == (True, 120, 4 * 25)


def test_a_stand_tells_when_it_was_last_collected_and_what_the_plan_cannot_know(
    session: Session, maker: Any
) -> None:
    stand = maker.population(region_code="R1", indigenous_status=IndigenousStatus.NON_INDIGENOUS)
    maker.lot(population=stand, collected_on=dt.date(2025, 10, 3), created_at=LONG_AGO)
    maker.lot(population=stand, collected_on=dt.date(2024, 10, 3), created_at=LONG_AGO, archived_at=LONG_AGO)
    maker.lot(population=stand, collected_on=dt.date(2026, 11, 1), material=Material.CUTTINGS, pieces=9)
    plan = a_plan(session, created_at=dt.datetime(2025, 12, 1, tzinfo=dt.UTC))
    need = a_need(session, plan, stand.species)
    a_line(session, plan, maker.target(), need_id=need.id)

    found = read_sheets(session, plan, [need.id])[need.id].stands.here[0]

    assert (found.last_collected, found.lots, found.new_lots) == (dt.date(2025, 10, 3), 1, 0)
    maker.lot(population=stand, collected_on=dt.date(2026, 10, 9))
    found = read_sheets(session, plan, [need.id])[need.id].stands.here[0]
    assert (found.last_collected, found.lots, found.new_lots) == (dt.date(2026, 10, 9), 2, 1)
    assert found.status == IndigenousStatus.NON_INDIGENOUS


def test_a_need_without_any_population_has_no_place_to_go(session: Session, maker: Any) -> None:
    plan = a_plan(session)
    need = a_need(session, plan, maker.species("quercus-suber"))

    sheet = read_sheets(session, plan, [need.id])[need.id]

    assert (sheet.stands.here, sheet.stands.elsewhere, sheet.most, sheet.lines) == ([], 0, None, [])


def test_the_list_holds_one_plan_and_tells_the_season(session: Session, maker: Any, today: dt.date) -> None:
    oak = maker.species("quercus-suber")
    plan, old = a_plan(session), a_plan(session, is_adopted=False)
    a_need(session, old, oak)
    day = dt.timedelta(days=1)
    a_need(session, plan, oak, opens_on=today - day, closes_on=today, region_code="R1")
    a_need(session, plan, oak, opens_on=today + day, closes_on=today + day, region_code="", basin="Alva")
    a_need(session, plan, oak, opens_on=today - 9 * day, closes_on=today - day, region_code="R3", grams=None)

    page = read_page(session, needs_listing(today, plan.id), ListQuery(), where=needs_of(plan.id))

    assert [(row.origin, row.state, row.material) for row in page.rows] == [
        ("R3", "over", "cuttings"),
        ("R1", "open", "seed"),
        ("Alva", "later", "seed"),
    ]
    some = ListQuery(filters={"state": "open", "origin": "R1", "species": "quercus-suber"})
    page = read_page(session, needs_listing(today, plan.id), some, where=needs_of(plan.id))
    assert [row.origin for row in page.rows] == ["R1"]


def test_sheets_cost_the_same_for_one_need_and_for_three(
    session: Session, engine: Engine, maker: Any, count_queries: Any
) -> None:
    plan, counted = a_plan(session), []
    needs = []
    for key in ("quercus-suber", "alnus-glutinosa", "populus-nigra"):
        species = maker.species(key)
        maker.lot(population=maker.population(species=species, region_code="R1"))
        need = a_need(session, plan, species)
        a_line(session, plan, maker.target(species=species), need_id=need.id)
        needs.append(need.id)
    for some in (needs[:1], needs):
        with count_queries(engine) as statements:
            read_sheets(session, plan, some)
        counted.append(len(statements))

    assert counted[0] == counted[1]


def test_an_unknown_need_is_told(session: Session) -> None:
    with pytest.raises(NotFound):
        need_and_plan(session, 77)
