from __future__ import annotations

import csv
import datetime as dt
import io
import re
from urllib.parse import urlsplit
from xml.etree import ElementTree as ET

import pytest
from sqlalchemy.orm import Session

from nursery.models import Plan
from nursery.models.plans import LineStatus
from tests.conftest import Maker
from tests.plan_lines import add_line, make_kept_plan, phases_of
from tests.web.conftest import Browser

STEPS = (("soak", 1), ("emergence", 30, 9), ("growing", 200))


@pytest.fixture
def plan(session: Session, maker: Maker, today: dt.date) -> Plan:
    """Two lines in the next season, one in the one after."""
    plan = make_kept_plan(session, today)
    add_line(maker, plan, phases_of(dt.date(2027, 2, 1), *STEPS))
    add_line(maker, plan, phases_of(dt.date(2027, 3, 1), *STEPS), status=LineStatus.LATE, key="rosa-canina")
    add_line(maker, plan, phases_of(dt.date(2028, 3, 1), *STEPS), site_name="Mill race")
    session.commit()
    return plan


def bars(svg: bytes) -> int:
    return sum(node.get("id", "").startswith("bar-") for node in ET.fromstring(svg).iter())  # noqa: S314 -- our own picture


def test_without_a_plan_the_page_says_what_to_do_first(client: Browser) -> None:
    assert "No plan, no calendar yet" in client.get("/calendar").get_data(as_text=True)
    assert client.get("/calendar.csv").status_code == 404
    assert client.get("/calendar/1.svg").status_code == 404


@pytest.mark.usefixtures("plan")
def test_the_nearest_season_is_shown_unless_another_is_asked_for(client: Browser) -> None:
    opened = client.get("/calendar")
    whole = client.get("/calendar?season=").get_data(as_text=True)

    assert (opened.status_code, opened.location) == (302, "/calendar?season=2027")
    assert "2 records" in client.get("/calendar?season=2027").get_data(as_text=True)
    assert "3 records" in whole


def test_picture_and_table_hold_the_same_lines(client: Browser, plan: Plan) -> None:
    page = client.get("/calendar?season=2027").get_data(as_text=True)
    found = re.search(r'<img src="([^"]+)" alt="([^"]+)">', page)
    assert found is not None
    address = urlsplit(found[1].replace("&amp;", "&"))
    picture = client.get(f"{address.path}?{address.query}")

    assert found[2].startswith("Calendar chart of 2 lines from")
    assert picture.content_type == "image/svg+xml; charset=utf-8"
    assert bars(picture.data) == 6
    assert f'srcset="/calendar/{plan.id}.svg?' in page
    assert "(the last 9 days waiting)" in page
    assert page.count('class="phases"') == 2


def test_the_picture_is_narrowed_by_the_same_filters(client: Browser, plan: Plan) -> None:
    address = f"/calendar/{plan.id}.svg"

    assert bars(client.get(address).data) == 9
    assert bars(client.get(address, query_string={"site": "Mill race"}).data) == 3
    assert bars(client.get(address, query_string={"species": "Rosa canina"}).data) == 3
    assert bars(client.get(address, query_string={"status": "late"}).data) == 3
    assert bars(client.get(address, query_string={"season": "1066"}).data) == 0


def test_a_browser_that_has_the_picture_is_not_sent_it_again(client: Browser, plan: Plan) -> None:
    address = f"/calendar/{plan.id}.svg?season=2027"
    first = client.get(address)
    mark = first.headers["ETag"]
    again = client.get(address, headers={"If-None-Match": mark})
    narrow = client.get(address + "&narrow=1", headers={"If-None-Match": mark})
    spanish = client.get(address, headers={"If-None-Match": mark, "Accept-Language": "es"})

    assert first.headers["Cache-Control"] == "private, no-cache"
    assert (again.status_code, again.data) == (304, b"")
    assert (narrow.status_code, spanish.status_code) == (200, 200)


def test_the_picture_may_style_itself_and_nothing_else(client: Browser, plan: Plan) -> None:
    answer = client.get(f"/calendar/{plan.id}.svg")

    assert answer.headers["Content-Security-Policy"] == (
        "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"
    )
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.usefixtures("plan")
def test_the_file_has_a_row_for_each_phase(client: Browser) -> None:
    answer = client.get("/calendar.csv?season=2027&species=Rosa+canina")
    rows = list(csv.DictReader(io.StringIO(answer.get_data(as_text=True))))

    assert [(row["Phase"], row["From"], row["To"], row["Days of waiting in it"]) for row in rows] == [
        ("Soak in water", "2027-03-01", "2027-03-02", "0"),
        ("Emergence", "2027-03-02", "2027-04-01", "9"),
        ("Growing", "2027-04-01", "2027-10-18", "0"),
    ]
    assert {row["Status"] for row in rows} == {"Too late"}


@pytest.mark.usefixtures("plan")
@pytest.mark.parametrize("query", ["season=x", "season=%00", "after=zz", "status=none", "sort=-phases", "q=%27"])
def test_nonsense_is_answered_calmly(client: Browser, query: str) -> None:
    assert client.get(f"/calendar?season=&{query}").status_code == 200


def test_queries_do_not_grow_with_the_lines(
    client: Browser, session: Session, maker: Maker, today: dt.date, count_queries
) -> None:
    plan = make_kept_plan(session, today)
    sessions = client.application.extensions["nursery_sessions"]
    sessions.configure(info={})  # without a memory, so that both times everything is read
    counts = []
    for more in (1, 2):
        for _ in range(more):
            add_line(maker, plan, phases_of(today, *STEPS))
        session.commit()
        with count_queries(sessions.kw["bind"]) as statements:
            assert client.get("/calendar?season=").status_code == 200
        counts.append(len(statements))

    assert counts[0] == counts[1]
