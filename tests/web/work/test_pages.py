from __future__ import annotations

import datetime as dt
import re

import pytest
from flask import Flask
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.app import create_app
from nursery.config import Settings
from nursery.models import Lot, PlanLine, Task
from nursery.planning.work.words import Job, TaskStatus
from nursery.services.people import create_person
from nursery.services.work.syncing import sync_tasks
from tests.conftest import Maker
from tests.plan_lines import add_draw, add_line, make_kept_plan, phases_of
from tests.signing_in import SignedIn
from tests.web.conftest import Browser

ANA = "Ana Seabra"
#: The day on which these tests happen: the soak of 1 December is late.
TODAY = dt.date(2026, 12, 3)
STEPS = (("soak", 2), ("cold-stratify", 60), ("emergence", 30), ("growing", 213), ("hardening", 50, 10))


@pytest.fixture
def today() -> dt.date:
    return TODAY


@pytest.fixture
def line(session: Session, maker: Maker) -> PlanLine:
    found = add_line(
        maker, make_kept_plan(session, TODAY), phases_of(dt.date(2026, 12, 1), *STEPS),
        key="fraxinus-angustifolia", basis={"window": ["2027-11-01", "2028-02-28"]}, protocol="warm-cold-direct",
    )  # fmt: skip
    lot = maker.lot(population=maker.population(species=maker.species("fraxinus-angustifolia")), tested_on=TODAY)
    add_draw(maker, found, 960, 70_000, lot)
    sync_tasks(session, ANA, today=TODAY)
    session.commit()
    return found


def task(session: Session, step: str) -> Task:
    session.rollback()  # what the pages wrote since is seen by a new transaction
    return session.scalars(select(Task).where(Task.key.like(f"t%-{step}"))).one()


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_the_day_s_page_tells_late_work_first_with_what_it_costs(client: Browser, line: PlanLine) -> None:
    page = client.get("/work").get_data(as_text=True)

    assert page.index('id="late-title"') < page.index('id="now-title"')
    assert "Late 2" in words(page)
    assert words(page).count("Planting stays on 21 Nov 2027.") == 1


def test_one_touch_marks_done_and_one_more_undoes_it(client: Browser, session: Session, line: PlanLine) -> None:
    soak = task(session, "soak")
    answer = client.submit(f"/tasks/{soak.id}/done", {"next": "/work"}, page="/work", follow_redirects=True)
    page = words(answer.get_data(as_text=True))

    assert "Done: Put to soak · Fraxinus angustifolia" in page
    assert "tasks moved with it. Planting stays on 21 Nov 2027." in page
    assert (task(session, "soak").status, task(session, "soak").done_on) == (TaskStatus.DONE, TODAY)

    undone = client.submit(f"/tasks/{soak.id}/reopen", {"next": "/work"}, page=f"/work?marked={soak.id}")

    assert undone.status_code == 303
    assert undone.location == "/work"
    assert task(session, "soak").status is TaskStatus.OPEN


def test_skipping_without_a_reason_keeps_the_page_and_says_so(
    client: Browser, session: Session, line: PlanLine
) -> None:
    look = task(session, "check-cold-stratify-1")
    refused = client.submit(f"/tasks/{look.id}/skip", {"reason": " "}, page=f"/tasks/{look.id}")

    assert refused.status_code == 422
    assert "Why is it skipped? must be filled in." in words(refused.get_data(as_text=True))

    done = client.submit(f"/tasks/{look.id}/skip", {"reason": "Turned yesterday"}, page=f"/tasks/{look.id}")

    assert done.status_code == 303
    assert task(session, "check-cold-stratify-1").reason == "Turned yesterday"


def test_a_part_is_written_down_and_a_day_is_moved(client: Browser, session: Session, line: PlanLine) -> None:
    thin = task(session, "thin")
    at = f"/tasks/{thin.id}"

    refused = client.submit(f"{at}/part", {"amount": "0", "done_on": "2026-12-03"}, page=at)
    client.submit(f"{at}/part", {"amount": "120", "done_on": "2026-12-03"}, page=at)
    client.submit(f"{at}/move", {"due_on": "2027-03-10"}, page=at)

    assert refused.status_code == 422
    found = task(session, "thin")
    assert (found.status, found.done_amount, found.due_on) == (TaskStatus.PARTLY, 120, dt.date(2027, 3, 10))
    assert "120 cells done" in words(client.get(at).get_data(as_text=True))
    moved = client.submit(f"{at}/move", {"due_on": "2026-12-01"}, page=at)
    assert (moved.status_code, "is past" in moved.get_data(as_text=True)) == (422, True)


def test_a_task_done_by_somebody_else_meanwhile_is_told(client: Browser, session: Session, line: PlanLine) -> None:
    soak = task(session, "soak")
    client.submit(f"/tasks/{soak.id}/done", {"next": "/work"}, page="/work")
    again = client.submit(f"/tasks/{soak.id}/done", {"next": "/work"}, page="/work", follow_redirects=True)

    assert "This task is no longer open" in words(again.get_data(as_text=True))


def test_ticked_tasks_are_given_to_a_person(client: Browser, session: Session, line: PlanLine) -> None:
    rui = create_person(session, ANA, values={"name": "Rui Vale", "hours_per_week": 35.0}, today=TODAY)
    session.commit()
    ids = [str(task(session, step).id) for step in ("soak", "thin")]

    none = client.submit("/tasks/assign", {"person": str(rui.id)}, page="/tasks", follow_redirects=True)
    client.submit("/tasks/assign", {"task": ids, "person": str(rui.id), "next": "/tasks"}, page="/tasks")

    assert "Tick the tasks first" in words(none.get_data(as_text=True))
    assert task(session, "thin").person_id == rui.id
    sheet = words(client.get(f"/tasks/sheet?person={rui.id}").get_data(as_text=True))
    assert "Rui Vale · 30 Nov – 6 Dec 2026" in sheet
    assert "Put to soak" in sheet
    assert "Move into cold" not in sheet
    client.submit("/tasks/assign", {"task": ids, "person": "none"}, page="/tasks")
    assert task(session, "thin").person_id is None


def test_the_sheet_carries_cautions_and_defers_to_those_who_decide(client: Browser, line: PlanLine) -> None:
    page = words(client.get("/tasks/sheet").get_data(as_text=True))

    assert "At 4 °C" in page
    assert "Phytophthora is spread by water and soil" in page
    assert "Local codes, product labels and trained people come first." in page


def test_a_task_leads_to_where_its_work_is_written_down(client: Browser, session: Session, line: PlanLine) -> None:
    lot = session.scalars(select(Lot)).one()
    draw = line.draws[0]
    sow = task(session, f"sow-l{lot.id}")

    page = client.get(f"/tasks/{sow.id}").get_data(as_text=True)

    assert f'href="/batches/new?draw={draw.id}&amp;lot={lot.code}"' in page
    assert f'href="/plans/lines/{line.id}"' in page
    withdraw = client.get(f"/tasks/{task(session, f'withdraw-l{lot.id}').id}").get_data(as_text=True)
    assert f'href="/lots/{lot.id}"' in withdraw


def test_the_list_is_exported_as_filtered(client: Browser, line: PlanLine) -> None:
    rows = client.get("/tasks.csv?job=thin").get_data(as_text=True).splitlines()

    assert rows[0].split(",")[:4] == ["Work", "Species", "Due", "When"]
    assert [row.split(",")[:3] for row in rows[1:]] == [["Thinning", "Fraxinus angustifolia", "2027-03-03"]]
    assert client.get("/tasks.xlsx").status_code == 200


def test_a_week_is_shown_day_by_day(client: Browser, line: PlanLine) -> None:
    page = words(client.get("/work?week=2027-W05").get_data(as_text=True))

    assert "Work, week 5" in page
    assert "Monday, 1 February 2027 2 Done: Sow in cells" in page
    assert "Nothing begins in this week." in words(client.get("/work?week=2031-W05").get_data(as_text=True))


def test_without_a_plan_the_page_says_what_to_do_first(client: Browser) -> None:
    page = words(client.get("/work").get_data(as_text=True))

    assert "No work is written down yet" in page


def test_the_season_page_tells_how_much_is_late(client: Browser, line: PlanLine) -> None:
    page = words(client.get("/").get_data(as_text=True))

    assert "2 tasks are late First to do:" in page


def test_bringing_up_to_date_says_what_came_of_it(client: Browser, session: Session, line: PlanLine) -> None:
    line.plants_to_plant = 0
    session.commit()
    page = client.submit("/tasks/refresh", {}, page="/work", follow_redirects=True)

    assert "0 tasks came new, 0 changed, 4 are no longer asked for." in words(page.get_data(as_text=True))


def test_the_feed_answers_without_a_login_and_only_at_its_address(
    app: Flask, client: Browser, session: Session, line: PlanLine
) -> None:
    client.submit("/people/address", {}, page="/people")
    page = client.get("/people").get_data(as_text=True)
    address = re.search(r"/feeds/[\w-]{30,}\.ics", page)
    assert address is not None

    answer = client.get(address[0])

    assert answer.status_code == 200
    assert answer.content_type == "text/calendar; charset=utf-8"
    assert f"http://localhost/tasks/{task(session, 'soak').id}".encode() in answer.data
    assert client.get("/feeds/none.ics").status_code == 404


def test_a_day_s_page_speaks_the_reader_s_language(settings: Settings, line: PlanLine) -> None:
    app = create_app(settings, today=TODAY, testing=True)
    app.test_client_class = SignedIn
    page = app.test_client().get("/work", headers={"Accept-Language": "pt"})

    assert page.status_code == 200
    assert 'lang="pt"' in page.get_data(as_text=True)
    app.extensions["nursery_sessions"].kw["bind"].dispose()


def test_ticked_tasks_are_put_off_or_done_together(client: Browser, session: Session, line: PlanLine) -> None:
    ids = [str(task(session, step).id) for step in ("soak", "thin")]

    none = client.submit("/tasks/done", {"next": "/tasks"}, page="/tasks", follow_redirects=True)
    assert "Tick the tasks first." in words(none.get_data(as_text=True))
    past = client.submit(
        "/tasks/move",
        {"task": ids, "due_on": "2026-12-01", "next": "/tasks"},
        page="/tasks",
        follow_redirects=True,
    )
    assert words(past.get_data(as_text=True)).count("1 Dec 2026 is past. Choose today or a day to come.") == 2
    moved = client.submit(
        "/tasks/move",
        {"task": ids, "due_on": "2027-09-20", "next": "/tasks"},
        page="/tasks",
        follow_redirects=True,
    )
    assert "2 tasks are put off to 20 Sept 2027." in words(moved.get_data(as_text=True))
    assert task(session, "thin").due_on >= dt.date(2027, 9, 20)

    done = client.submit(
        "/tasks/done", {"task": ids, "next": "/tasks"}, page="/tasks", follow_redirects=True
    ).get_data(as_text=True)
    assert "2 tasks are done." in words(done)
    assert {task(session, step).status for step in ("soak", "thin")} == {TaskStatus.DONE}
    again = client.submit("/tasks/done", {"task": ids, "next": "/tasks"}, page="/tasks", follow_redirects=True)
    assert words(again.get_data(as_text=True)).count("This task is no longer open") == 2


def test_who_leaves_frees_what_they_still_had_to_do(client: Browser, session: Session, line: PlanLine) -> None:
    rui = create_person(session, ANA, values={"name": "Rui Vale", "hours_per_week": 35.0}, today=TODAY)
    session.commit()
    at = f"/people/{rui.id}"
    assert "given to nobody" not in client.get(at).get_data(as_text=True)
    given = {"task": [str(task(session, step).id) for step in ("soak", "thin")], "person": str(rui.id)}
    client.submit("/tasks/assign", given, page="/tasks")
    client.submit("/tasks/done", {"task": given["task"][:1]}, page="/tasks")
    told = "1 open task is given to nobody; give it to somebody else."
    assert told in client.get(at).get_data(as_text=True)

    client.submit(f"{at}/archive", {}, page=at)
    assert task(session, "thin").person_id is None
    assert task(session, "soak").person_id == rui.id  # what was done stays on record


def test_a_survey_task_leads_to_the_plots_of_its_site(client: Browser, session: Session, line: PlanLine) -> None:
    tasks = session.scalars(select(Task).where(Task.job == Job.SURVEY).order_by(Task.due_on)).all()
    assert [task.details["year"] for task in tasks] == [1, 3, 5]

    page = client.get(f"/tasks/{tasks[1].id}").get_data(as_text=True)

    assert "Count what lives after 3 years" in page
    assert f'href="/surveys/new?site={line.site_id}&amp;season={line.season}&amp;year=3"' in page
