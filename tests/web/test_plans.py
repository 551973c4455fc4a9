"""The pages of plans."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from flask import Flask
from openpyxl import load_workbook
from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from nursery.i18n import format_date
from nursery.models import Change, Container, Plan, PlanLine
from nursery.planning.plan import ENGINE
from nursery.planning.words import Method
from nursery.services import records
from nursery.services.planning import adopt_plan, make_plan

Counter = Callable[[Engine], AbstractContextManager[list[str]]]
ANA = "Ana Seabra"


def write_down(maker: Any, number: int) -> None:
    """``number`` sites with a target each, one container and a lot of fresh acorns of the same region."""
    maker.container()
    population = maker.population(region_code="RP-1", basin="Ribeira Clara", name="Azenha")
    maker.lot(population=population, code="QSU-1", amount_mg=40_000_000, collected_on=dt.date(2026, 11, 20))
    for _each in range(number):
        maker.target(site=maker.site(region_code="RP-1", basin="Ribeira Clara"), plants=200)


@pytest.fixture
def plan(session: Session, maker: Any, today: dt.date) -> Plan:
    write_down(maker, 3)
    made = make_plan(session, ANA, today=today, label="Autumn plan")
    session.commit()
    return made


def test_without_plans_the_pages_teach_the_order_of_work(client: Any) -> None:
    page = client.get("/plans").text
    assert "Set a target for each site, species and season." in page
    assert "<table" not in page
    assert 'href="/plans"' in client.get("/plans/current").text
    assert "Two plans are needed." in client.get("/plans/compare").text
    assert client.get("/plans/current.csv").status_code == 404
    assert client.get("/plans/compare.csv").status_code == 404


def test_a_plan_without_any_container_says_why_no_tray_is_counted(
    client: Any, session: Session, maker: Any, today: dt.date, plan: Plan
) -> None:
    told = "No container type is recorded for 3 lines, so their trays are not counted."
    assert told not in client.get(f"/plans/{plan.id}").text
    for container in session.scalars(select(Container)):
        records.archive(session, ANA, container)
    bare = make_plan(session, ANA, today=today, label="Bare")
    session.commit()

    page = client.get(f"/plans/{bare.id}").text
    assert page.count(told) == 1
    assert 'href="/containers">Write a container type down</a>' in page
    assert f"Reckoned by version {ENGINE} of the calculation; mark of all inputs:" in page


def test_a_plan_without_targets_is_refused_with_the_way_out_and_the_typing(client: Any, session: Session) -> None:
    answer = client.submit("/plans", {"label": "Too early"})
    assert answer.status_code == 422
    assert "There is no target to plan for. Write down first what is to be planted where." in answer.text
    assert 'value="Too early"' in answer.text
    assert session.scalar(select(func.count()).select_from(Plan)) == 0


def test_making_a_plan_leads_to_it(client: Any, session: Session, maker: Any) -> None:
    write_down(maker, 1)
    session.commit()
    answer = client.submit("/plans", {"label": " Autumn plan "})
    assert (answer.status_code, answer.location) == (303, "/plans/1")
    assert session.scalars(select(Plan.label)).all() == ["Autumn plan"]
    page = client.get(answer.location).text
    assert "The plan “Autumn plan” is made. Look through it, then adopt it." in page
    assert "<h1>Autumn plan</h1>" in page


def test_a_name_too_long_is_refused_and_kept(client: Any, session: Session, maker: Any) -> None:
    write_down(maker, 1)
    session.commit()
    answer = client.submit("/plans", {"label": "x" * 121})
    assert answer.status_code == 422
    assert "Name of the plan has 121 characters; at most 120 fit. Shorten it." in answer.text
    assert "x" * 121 in answer.text


def test_making_the_same_plan_again_leads_to_the_kept_one(client: Any, session: Session, plan: Plan) -> None:
    answer = client.submit("/plans", {"label": "Another name"}, follow_redirects=True)
    assert "Nothing has changed: the records of today give the plan “Autumn plan”" in answer.text
    assert session.scalars(select(Plan.label)).all() == ["Autumn plan"]


def test_adopting_asks_first_and_is_written_down(client: Any, session: Session, plan: Plan) -> None:
    page = client.get("/plans/1").text
    assert "Not adopted" in page
    assert "Sowing and collecting lists will follow “Autumn plan”." in page
    answer = client.submit("/plans/1/adopt", page="/plans/1")
    assert (answer.status_code, answer.location) == (303, "/plans/1")
    session.expire_all()
    assert session.scalars(select(Plan.id).where(Plan.is_adopted)).all() == [1]
    noted = session.scalars(select(Change.action).where(Change.subject == "plans")).all()
    assert noted == ["made", "adopted", "tasks updated"]
    after = client.get("/plans/1").text
    assert "“Autumn plan” is now the adopted plan." in after
    assert "/plans/1/adopt" not in after


def test_a_plan_or_line_that_is_not_there_is_a_page_not_found(client: Any, plan: Plan) -> None:
    for path in ("/plans/9", "/plans/lines/9", "/plans/9.csv", "/plans/compare?before=9", "/plans/99999999999"):
        assert client.get(path).status_code == 404
    assert client.submit("/plans/9/adopt", page="/plans").status_code == 404
    assert client.get("/plans/compare?before=x&after=2.5&page=-3").status_code == 200


@pytest.mark.parametrize("number", [1, 3])
@pytest.mark.parametrize(
    ("path", "queries"),
    # Plans: list, count, current, newest, changes, lines by status. Detail: plan, list, count, three filters,
    # two sums, uncounted, changes, current, what is short. Line: line, needs, target, species, own figures, lots.
    [("/plans", 6), ("/plans/1", 13), ("/plans/current", 13), ("/plans/lines/1", 9), ("/plans/compare", 1)],
)
def test_a_page_costs_as_many_queries_for_three_lines_as_for_one(
    app: Flask,
    client: Any,
    session: Session,
    maker: Any,
    today: dt.date,
    count_queries: Counter,
    number: int,
    path: str,
    queries: int,
) -> None:
    write_down(maker, number)
    make_plan(session, ANA, today=today)
    session.commit()
    with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as statements:
        assert client.get(path).status_code == 200
    assert len(statements) == queries


@pytest.mark.parametrize("number", [1, 3])
def test_comparing_costs_the_same_for_any_number_of_lines(
    app: Flask, client: Any, session: Session, maker: Any, today: dt.date, count_queries: Counter, number: int
) -> None:
    write_down(maker, number)
    make_plan(session, ANA, today=today)
    make_plan(session, ANA, today=today + dt.timedelta(days=1))
    session.commit()
    with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as statements:
        assert client.get("/plans/compare?before=1&after=2").status_code == 200
    assert len(statements) == 9  # plans, lines and draws of both, two sums of each


def test_the_table_shows_the_lines_and_their_pages(client: Any, session: Session, plan: Plan) -> None:
    page = client.get("/plans/current").text
    assert re.findall(r'<th scope="row"><a href="/plans/lines/(\d)"><i class="taxon">(.*?)</i>', page) == [
        ("1", "Quercus suber"),
        ("2", "Quercus suber"),
        ("3", "Quercus suber"),
    ]
    line = session.get_one(PlanLine, 1)
    assert f"{line.p10:,}–{line.p90:,}" in page
    assert f'<span class="nowrap">{format_date(line.sow_on)}</span>' in page
    assert client.get("/plans/current?status=late").text.count("/plans/lines/") == 0


def test_the_files_hold_every_field_as_filtered(client: Any, session: Session, plan: Plan) -> None:
    site = session.get_one(PlanLine, 2).site_id
    rows = list(csv.DictReader(io.StringIO(client.get(f"/plans/current.csv?site={site}").text)))
    line = session.get_one(PlanLine, 2)
    assert [(row["Target number"], row["Sow"], row["Seeds or cuttings"]) for row in rows] == [
        (str(line.target_id), line.sow_on.isoformat(), str(line.seeds))
    ]
    assert rows[0]["Lots: seeds (g)"].startswith("QSU-1: ")
    sheet = load_workbook(io.BytesIO(client.get("/plans/1.xlsx").data)).active
    assert sheet is not None
    assert (sheet.max_row, sheet.max_column) == (4, len(rows[0]))


def test_a_line_tells_what_to_do_and_explains_each_number(client: Any, session: Session, plan: Plan) -> None:
    page = client.get("/plans/lines/1").text
    line = session.get_one(PlanLine, 1)
    assert "To do first" in page
    assert 'href="/lots/1">QSU-1</a>' in page
    assert "from QSU-1" in page
    assert "Plants to plant ÷ (1 − handling loss), rounded up." in page
    assert 'href="/species/quercus-suber#figure-protocols-fresh-direct-rates-handling_loss-mean"' in page
    assert f"<summary>{line.seeds:,}</summary>" in page
    assert f'href="/targets/{line.target_id}"' in page
    assert f'href="/sites/{line.site_id}"' in page


def test_a_short_line_puts_what_is_wrong_first_and_offers_ways_out(
    client: Any, session: Session, maker: Any, today: dt.date
) -> None:
    maker.container()
    maker.target(site=maker.site(region_code="RP-1"), plant_on=dt.date(2026, 12, 1), season=2026)
    make_plan(session, ANA, today=today)
    session.commit()
    page = client.get("/plans/lines/1").text
    assert page.index("What stands in the way") < page.index("Ways out") < page.index("Steps it would have needed")
    assert "it can no longer be ready in this season." in page
    assert "500 plants of a lawful origin could be bought in." in page
    assert "To do" not in page
    assert 'href="/targets/1/edit"' in page


def test_the_list_says_what_has_changed_since(client: Any, session: Session, plan: Plan, maker: Any) -> None:
    assert "No record has changed since “Autumn plan” was made today." in client.get("/plans").text
    lot = maker.lot()
    records.update(session, ANA, lot, {"notes": "Counted again"}, version=lot.version)
    session.commit()
    assert "Since “Autumn plan” was made there were changes to 1 lot." in client.get("/plans").text
    assert "Since this plan was made there were changes to 1 lot." in client.get("/plans/1").text


def test_the_list_marks_the_adopted_plan_and_shortens_fingerprints(
    client: Any, session: Session, plan: Plan, today: dt.date
) -> None:
    second = make_plan(session, ANA, today=today + dt.timedelta(days=1), label="Next day")
    adopt_plan(session, ANA, plan_id=plan.id)
    session.commit()
    page = client.get("/plans").text
    names = re.findall(r'<th scope="row"><a href="/plans/(\d)">(.*?)</a>( <span class="status tone-ok">)?', page)
    assert [(number, name, bool(mark)) for number, name, mark in names] == [
        ("2", "Next day", False),
        ("1", "Autumn plan", True),
    ]
    assert f"<summary>{second.fingerprint[:8]}</summary>" in page
    assert 'href="/plans/compare?before=1&amp;after=2"' in page


def test_comparing_shows_and_exports_what_differs(
    client: Any, session: Session, plan: Plan, maker: Any, today: dt.date
) -> None:
    from nursery.models import Target

    target = session.get_one(Target, 1)
    records.update(session, ANA, target, {"plants": 400}, version=target.version)
    records.archive(session, ANA, session.get_one(Target, 2))
    make_plan(session, ANA, today=today, label="Doubled")
    session.commit()
    page = client.get("/plans/compare?before=1&after=2").text
    assert "1 line changed, 0 are new, 1 is gone." in page
    assert "<li>Wanted: 200 → <strong>400</strong></li>" in page
    rows = list(csv.DictReader(io.StringIO(client.get("/plans/compare.csv?before=1&after=2").text)))
    assert ("1", "Changed", "Wanted", "200", "400") in [
        (row["Target number"], row["Line"], row["Field"], row["Before"], row["After"]) for row in rows
    ]
    assert client.get("/plans/compare.xlsx?before=1&after=2").data[:2] == b"PK"
    assert "they are the same plan" in client.get("/plans/compare?before=1&after=1").text


def test_a_bed_has_seeds_but_neither_cells_nor_trays(client: Any, session: Session, plan: Plan) -> None:
    # No protocol of the catalogue sows in a bed yet; the line is stored here as the calculation gives it.
    line = session.get_one(PlanLine, 1)
    line.method, line.cells, line.trays, line.cells_sown, line.seeds_per_cell = Method.BAREROOT, 0, 0, 0, None
    session.commit()
    page = client.get("/plans/lines/1").text
    assert re.findall(r"<div><dt>([^<]*)</dt><dd><details", page) == [
        "Plants wanted",
        "Plants to plant",
        "Ready plants needed",
        "Seeds",
        "Clean seed",
        "Ready plants expected",
        "Chance of enough ready plants",
    ]


def test_a_trial_without_seed_to_try_leads_back_to_the_line(
    client: Any, session: Session, maker: Any, today: dt.date
) -> None:
    write_down(maker, 1)
    plan = make_plan(session, ANA, today=today)
    line = session.scalars(select(PlanLine).where(PlanLine.plan_id == plan.id)).one()
    session.commit()

    answer = client.get(f"/plans/lines/{line.id}/trial")

    assert (answer.status_code, answer.location) == (303, f"/plans/lines/{line.id}")
    assert "No seed is known that could be collected for this line" in client.get(answer.location).text
