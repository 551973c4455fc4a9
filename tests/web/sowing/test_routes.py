from __future__ import annotations

import csv
import datetime as dt
import io
import re

import openpyxl
import pytest
from sqlalchemy.orm import Session

from nursery.catalog import caution_text
from nursery.models.plans import LineStatus
from tests.conftest import Maker
from tests.plan_lines import add_draw, add_line, add_need, make_kept_plan, phases_of
from tests.web.conftest import Browser

STEPS = (("soak", 1), ("emergence", 30), ("growing", 200))


@pytest.fixture
def planned(session: Session, maker: Maker, today: dt.date) -> Session:
    """Two nurseries with work this week; one lot of two is still to be collected."""
    plan = make_kept_plan(session, today)
    line = add_line(maker, plan, phases_of(today, *STEPS))
    add_draw(maker, line, 500, 2_000_000, maker.lot(code="QUSU-A"))
    add_draw(maker, line, 460, 2_100_000, maker.lot(code="QUSU-B", storage_place_id=maker.place(name="Cellar").id))
    phases = phases_of(today, ("scarify", 1), ("cold-stratify", 160), ("emergence", 30))
    need = add_need(maker, plan, today, today)
    add_line(
        maker, plan, phases, key="crataegus-monogyna", protocol="scarified-cold", nursery_name="Hill yard",
        status=LineStatus.COLLECT, seeds_missing=960, need_id=need.id,
    )  # fmt: skip
    session.commit()
    return session


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_without_a_plan_the_page_says_what_to_do_first(client: Browser) -> None:
    page = client.get("/sowing").get_data(as_text=True)

    assert "No plan, no sowing list yet" in page
    assert 'href="/plans"' in page
    assert client.get("/sowing.csv").status_code == 404


@pytest.mark.usefixtures("planned")
def test_this_week_is_listed_by_nursery_with_lots_trays_and_cautions(client: Browser) -> None:
    page = client.get("/sowing").get_data(as_text=True)
    text = words(page)

    assert "Sowing list, week 48" in text
    assert re.findall(r'<caption id="work-\d-caption">([^<]+)</caption>', page) == ["Hill yard", "River yard"]
    assert "QUSU-A 500 seeds · 2,000 g" in text
    assert "QUSU-B 460 seeds · 2,100 g (Cellar)" in text
    assert "12 trays × 40 = 480 cells 2 seeds a cell" in text
    assert "To collect first 960 seeds" in text
    assert caution_text("acid") in text
    assert "4 tasks · 12 trays to fill · 960 seeds to sow · 4,100 g of seed leave the store" in text
    assert page.count('class="tick"') == 4


@pytest.mark.usefixtures("planned")
def test_one_nursery_prints_its_own_list(client: Browser) -> None:
    page = client.get("/sowing?nursery=Hill+yard").get_data(as_text=True)

    assert re.findall(r'<caption id="work-\d-caption">([^<]+)</caption>', page) == ["Hill yard"]
    assert 'href="/sowing?week=2026-W49&amp;nursery=Hill+yard"' in page.replace(
        "nursery=Hill+yard&amp;week=2026-W49", "week=2026-W49&amp;nursery=Hill+yard"
    )


@pytest.mark.usefixtures("planned")
@pytest.mark.parametrize("asked", ["", "nonsense", "2026-W99", "%00", "2026-W48"])
def test_nonsense_for_a_week_is_this_week(client: Browser, asked: str) -> None:
    answer = client.get(f"/sowing?week={asked}")

    assert answer.status_code == 200
    assert "week 48" in answer.get_data(as_text=True)


@pytest.mark.usefixtures("planned")
def test_an_empty_week_leads_to_the_next_work(client: Browser) -> None:
    page = client.get("/sowing?week=2026-W50").get_data(as_text=True)

    assert "Nothing begins in this week." in page
    assert "The next work is on" in page
    assert 'href="/sowing?week=2026-W52"' in page  # 25 December: thirty days after the sowing


@pytest.mark.usefixtures("planned")
def test_the_outlook_links_the_weeks(client: Browser) -> None:
    page = client.get("/sowing").get_data(as_text=True)

    assert len(re.findall(r'<th scope="row"><a href="/sowing\?week=20\d\d-W\d\d">Week \d+</a>', page)) == 12


@pytest.mark.usefixtures("planned")
def test_the_file_has_a_row_for_each_task_and_lot_whose_sums_hold(client: Browser) -> None:
    answer = client.get("/sowing.csv?week=2026-W48")
    rows = list(csv.DictReader(io.StringIO(answer.get_data(as_text=True))))

    assert [(row["Nursery"], row["Task"], row["Lot"], row["Seeds or cuttings"], row["Trays"]) for row in rows] == [
        ("Hill yard", "Scarify", "", "", "12"),
        ("Hill yard", "Begin cold stratification", "", "", "12"),
        ("River yard", "Put to soak", "QUSU-A", "500", "12"),
        ("River yard", "Put to soak", "QUSU-B", "460", ""),
        ("River yard", "Sow in cells", "QUSU-A", "500", "12"),
        ("River yard", "Sow in cells", "QUSU-B", "460", ""),
    ]
    assert [row["Still to collect"] for row in rows] == ["960", "960", "", "", "", ""]
    assert rows[3]["Kept in"] == "Cellar"
    assert rows[0]["Caution"] == caution_text("acid")


@pytest.mark.usefixtures("planned")
def test_the_workbook_has_the_same_rows(client: Browser) -> None:
    answer = client.get("/sowing.xlsx?week=2026-W48")
    sheet = openpyxl.load_workbook(io.BytesIO(answer.data)).active

    assert sheet is not None
    assert sheet.max_row == 7
    assert str(sheet["A2"].value) == "2026-11-25 00:00:00"


def test_tasks_since_the_plan_lead_to_their_week(
    client: Browser, session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, dt.date(2026, 11, 2))
    add_line(maker, plan, phases_of(dt.date(2026, 11, 5), *STEPS))
    session.commit()
    page = client.get("/sowing").get_data(as_text=True)

    assert "2 tasks were dated between the plan and this week." in page
    assert '<a href="/sowing?week=2026-W45">Look at week 45</a>' in page


def test_queries_do_not_grow_with_the_lines(
    client: Browser, session: Session, maker: Maker, today: dt.date, count_queries
) -> None:
    plan = make_kept_plan(session, today)
    counts = []
    for more in (1, 2):
        for _ in range(more):
            add_draw(maker, add_line(maker, plan, phases_of(today, *STEPS)), 960, 4_000_000)
        session.commit()
        with count_queries(client.application.extensions["nursery_sessions"].kw["bind"]) as statements:
            assert client.get("/sowing").status_code == 200
        counts.append(len(statements))

    assert counts[0] == counts[1]
