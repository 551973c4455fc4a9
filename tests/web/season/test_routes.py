from __future__ import annotations

import datetime as dt
import re

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.models.plans import LineStatus
from tests.conftest import Maker
from tests.plan_lines import add_line, add_need, make_kept_plan, phases_of
from tests.web.conftest import Browser

STEPS = (("soak", 1), ("emergence", 30), ("growing", 200))


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_an_empty_nursery_is_shown_the_five_steps(client: Browser) -> None:
    answer = client.get("/")
    page = answer.get_data(as_text=True)

    assert answer.status_code == 200
    assert "No plan yet: five steps lead to the first one" in page
    steps = re.search(r"<ol>(.*?)</ol>", page, re.DOTALL)
    assert steps is not None
    assert re.findall(r'href="([^"]+)"', steps[1]) == ["/sites", "/nurseries", "/imports", "/targets", "/plans"]
    assert 'class="button button-primary" href="/imports"' in page


def test_with_targets_the_next_step_is_the_plan(client: Browser, session: Session, maker: Maker) -> None:
    maker.target()
    session.commit()
    page = client.get("/").get_data(as_text=True)

    assert 'class="button button-primary" href="/plans"' in page
    assert page.count("(begun)") == 2


def test_the_page_shows_work_collecting_lack_and_stock(
    client: Browser, session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    line = add_line(maker, plan, phases_of(today, *STEPS))
    late = {"code": "late", "number": None, "day": "2026-06-01", "text": ""}
    lacking = add_line(
        maker, plan, phases_of(dt.date(2026, 6, 1), *STEPS), status=LineStatus.LATE, shortfall=280,
        key="rosa-canina", expected=0.0, p10=0, p90=0, problems=[late], season=2027,
    )  # fmt: skip
    add_need(maker, plan, today, today + dt.timedelta(6))
    session.commit()
    page = client.get("/").get_data(as_text=True)

    assert "Put to soak" in page
    assert "Open, 7 days left" in page
    assert "280 of 400 plants lacking" in words(page)
    assert "it can no longer be ready in this season" in page
    assert f'href="/plans/lines/{line.id}"' in page
    assert f'href="/plans/lines/{lacking.id}"' in page
    assert 'aria-label="Quercus suber: forecast 400 to 480, expected 440, needed 410"' in page
    assert "Make today’s plan" not in page


def test_a_plan_of_yesterday_is_hinted_at(client: Browser, session: Session, today: dt.date) -> None:
    make_kept_plan(session, today - dt.timedelta(1))
    session.commit()
    page = client.get("/").get_data(as_text=True)

    assert "Nothing was changed since, but days have passed." in page
    assert '<a href="/plans">Make today’s plan</a>' in page


def test_a_quiet_fortnight_names_the_next_work(
    client: Browser, session: Session, maker: Maker, today: dt.date
) -> None:
    plan = make_kept_plan(session, today)
    add_line(maker, plan, phases_of(dt.date(2027, 2, 1), *STEPS))
    session.commit()

    assert "Nothing begins this week or next. The next work is on" in client.get("/").get_data(as_text=True)


def test_queries_do_not_grow_with_the_lines(
    client: Browser, session: Session, engine: Engine, maker: Maker, today: dt.date, count_queries
) -> None:
    plan = make_kept_plan(session, today)
    counts = []
    for more in (1, 2):
        for _ in range(more):
            add_line(maker, plan, phases_of(today, *STEPS))
            add_need(maker, plan, today, today)
        session.commit()
        with count_queries(client.application.extensions["nursery_sessions"].kw["bind"]) as statements:
            assert client.get("/").status_code == 200
        counts.append(len(statements))

    assert counts[0] == counts[1]
    assert 0 < counts[0] <= 26
