"""The forecast of ready stock: its sums are the plan lines', its ranges follow the stated rule."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import PlanLine
from nursery.models.plans import LineStatus
from nursery.services.planning import make_plan
from nursery.services.site_stock import read_sites
from nursery.services.stock import StockQuery, alike, forecast_of, read_choices, read_stock, together
from tests.handmade_plans import a_line, a_plan

PART = (1, 100, 110, 130.0, 105, 150, 0, 0, 100.0)
OTHER = (2, 40, 50, 20.0, 12, 26, 8, 16, 16.0)


def test_amounts_and_ranges_of_one_species_add_up(session: Session, maker: Any) -> None:
    plan = a_plan(session)
    a_line(session, plan, maker.target())
    a_line(
        session, plan, maker.target(), plants_to_plant=40, ready_plants=50, expected=20.0, p10=12, p90=26,
        probability=0.1, shortfall=24, status=LineStatus.COLLECT, ready_on=dt.date(2027, 12, 1),
    )  # fmt: skip

    (season,) = read_stock(session, plan.id, StockQuery())
    (row,) = season.rows

    assert (row.season, row.species_name, row.nursery_name, row.container_name) == (2027, "Quercus suber", "", "")
    found = row.forecast
    assert (found.lines, found.plants_to_plant, found.ready_plants, found.expected) == (2, 140, 160, 150.0)
    assert (found.low, found.high) == (117, 176)
    assert (found.to_collect, found.lost, found.short) == (24, 0, 24)
    assert row.chance == 0.1
    assert (row.ready_from, row.ready_until) == (dt.date(2027, 11, 1), dt.date(2027, 12, 1))
    assert season.total == found


def test_a_surplus_at_one_site_does_not_fill_the_lack_at_another(session: Session, maker: Any) -> None:
    plan = a_plan(session)
    a_line(session, plan, maker.target())
    a_line(session, plan, maker.target(), plants_to_plant=40, ready_plants=50, expected=20.0)
    a_line(session, plan, maker.target(), plants_to_plant=0, ready_plants=0, expected=0.0)

    (season,) = read_stock(session, plan.id, StockQuery())

    assert season.total.arriving == 100 + 40 * 20 / 50
    assert season.total.met == pytest.approx(116 / 140)


def test_ranges_of_different_species_add_as_squares() -> None:
    found = together([forecast_of(PART), forecast_of(OTHER)])

    assert (found.lines, found.plants_to_plant, found.ready_plants) == (3, 140, 160)
    assert (found.expected, found.to_collect, found.lost, found.arriving) == (150.0, 8, 16, 116.0)
    assert found.low == pytest.approx(150 - math.hypot(25, 8))
    assert found.high == pytest.approx(150 + math.hypot(20, 6))


def test_parts_of_one_species_are_put_together_as_their_lines_are() -> None:
    found = alike([forecast_of(PART), forecast_of(OTHER)])

    assert (found.low, found.expected, found.high) == (117.0, 150.0, 176.0)
    assert together([found]) == found


def test_nothing_comes_to_nothing() -> None:
    found = together([])

    assert (found.plants_to_plant, found.expected, found.low, found.high, found.met) == (0, 0.0, 0.0, 0.0, 0.0)


def test_late_and_short_lines_count_as_lost(session: Session, maker: Any) -> None:
    plan = a_plan(session)
    for status, shortfall in ((LineStatus.LATE, 100), (LineStatus.SHORT, 30), (LineStatus.COLLECT, 7)):
        a_line(session, plan, maker.target(), status=status, shortfall=shortfall)

    (season,) = read_stock(session, plan.id, StockQuery())

    assert (season.total.lost, season.total.to_collect) == (130, 7)


def test_groups_filters_and_orders(session: Session, maker: Any) -> None:
    plan = a_plan(session)
    alder = maker.species("alnus-glutinosa")
    a_line(session, plan, maker.target(), nursery_name="Horta", container_name="Deep", expected=300.0)
    a_line(session, plan, maker.target(), nursery_name="Horta", container_name="Small")
    a_line(session, plan, maker.target(species=alder), nursery_name="Vale", expected=5.0)
    a_line(session, plan, maker.target(season=2028), nursery_name="Vale")
    a_line(session, a_plan(session, is_adopted=False), maker.target())

    def names(query: StockQuery) -> list[tuple[int, str, str, str]]:
        rows = [row for season in read_stock(session, plan.id, query) for row in season.rows]
        return [(row.season, row.species_name[:1], row.nursery_name, row.container_name) for row in rows]

    assert names(StockQuery()) == [(2027, "A", "", ""), (2027, "Q", "", ""), (2028, "Q", "", "")]
    assert names(StockQuery(by="container", season=2027)) == [
        (2027, "A", "Vale", ""),
        (2027, "Q", "Horta", "Deep"),
        (2027, "Q", "Horta", "Small"),
    ]
    assert names(StockQuery(by="nursery", sort="-expected", season=2027)) == [
        (2027, "Q", "Horta", ""),
        (2027, "A", "Vale", ""),
    ]
    assert names(StockQuery(nursery="Vale", season=2028)) == [(2028, "Q", "", "")]
    assert names(StockQuery(q="amieiro")) == [(2027, "A", "", "")]
    assert names(StockQuery(q="nothing like it")) == []
    assert read_choices(session, plan.id) == ([2027, 2028], ["Horta", "Vale"])


def test_the_total_of_a_season_is_the_same_however_it_is_grouped(session: Session, maker: Any) -> None:
    plan = a_plan(session)
    for container in ("Deep", "Small"):
        a_line(session, plan, maker.target(), nursery_name="Horta", container_name=container)
    a_line(session, plan, maker.target(species=maker.species("alnus-glutinosa")), nursery_name="Vale")

    totals = [
        read_stock(session, plan.id, StockQuery(by=by))[0].total for by in ("species", "nursery", "container")
    ]

    assert totals == [totals[0]] * 3


def test_each_site_gets_its_species_together(session: Session, maker: Any) -> None:
    plan = a_plan(session)
    site, other = maker.site(name="Azenha"), maker.site(name="Ladeira")
    alder = maker.species("alnus-glutinosa")
    a_line(session, plan, maker.target(site=site))
    a_line(
        session, plan, maker.target(site=site, species=alder), plants_to_plant=40, ready_plants=50, expected=20.0,
        p10=12, p90=26,
    )  # fmt: skip
    a_line(session, plan, maker.target(site=other, season=2028))

    rows = read_sites(session, plan.id)

    assert [(row.season, row.site_name, row.species) for row in rows] == [
        (2027, "Azenha", 2),
        (2028, "Ladeira", 1),
    ]
    first = rows[0].forecast
    assert (first.plants_to_plant, first.expected, first.arriving) == (140, 150.0, 116.0)
    assert first.low == pytest.approx(150 - math.hypot(25, 8))
    assert read_sites(session, plan.id, q="lad")[0].site_id == other.id
    assert [row.site_name for row in read_sites(session, plan.id, season=2027)] == ["Azenha"]
    assert [row.season for row in read_sites(session, plan.id, site_id=other.id)] == [2028]


def test_the_sums_of_a_real_plan_are_those_of_its_lines(demo_session: Session, today: dt.date) -> None:
    plan = make_plan(demo_session, "Ana Seabra", today=today)
    columns = (
        PlanLine.plants_to_plant, PlanLine.ready_plants, PlanLine.expected, PlanLine.shortfall, PlanLine.id,
    )  # fmt: skip
    *sums, lines = demo_session.execute(
        select(*(func.sum(column) for column in columns[:-1]), func.count(columns[-1])).where(
            PlanLine.plan_id == plan.id
        )
    ).one()

    seasons = [season.total for season in read_stock(demo_session, plan.id, StockQuery(by="container"))]
    sites = [row.forecast for row in read_sites(demo_session, plan.id)]

    for parts in (seasons, sites):
        assert sum(part.lines for part in parts) == lines
        assert [
            sum(part.plants_to_plant for part in parts),
            sum(part.ready_plants for part in parts),
            pytest.approx(sum(part.expected for part in parts)),
            sum(part.short for part in parts),
        ] == sums
