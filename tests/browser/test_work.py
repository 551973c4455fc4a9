"""The day’s work: late first, one touch to be done, a reason to skip, what a slip moves, people with sheets."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import vobject
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Batch, Task
from nursery.planning.work.words import Job, TaskStatus
from tests.browser.looking import faults
from tests.browser.serving import Served, serving
from tests.browser.steps import fill, follow, go, heading, leave_by, press, save, told
from tests.databases import Kept

pytestmark = pytest.mark.browser
#: Three weeks after the plan was adopted nobody has marked anything.
LATER = dt.date(2026, 12, 16)


@pytest.fixture
def three_weeks_on(demo_file: Kept, tmp_path: Path) -> Iterator[Served]:
    with serving(demo_file, tmp_path, demo=True, today=LATER) as served:
        yield served


def first_slip(served: Served) -> Task:
    """A late task of pretreatment whose planting waits for it."""
    with served.session() as session:
        return session.scalars(
            select(Task)
            .where(Task.job == Job.STRATIFY, Task.due_on < LATER, Task.status == TaskStatus.OPEN)
            .order_by(Task.due_on, Task.id)
            .limit(1)
        ).one()


def test_late_work_is_told_first_with_what_it_costs(three_weeks_on: Served, visit: Callable[..., Page]) -> None:
    page = visit(three_weeks_on)
    expect(page.get_by_text("tasks are late")).to_be_visible()
    go(page, "Grow")
    heading(page, "Today’s work")
    late = page.get_by_role("region", name="Late")
    expect(late).to_be_visible()
    expect(page.get_by_role("main").get_by_role("heading", level=2).first).to_contain_text("Late")
    expect(late.get_by_text("If done today").first).to_be_visible()


def test_on_a_phone_one_touch_is_done_and_one_more_takes_it_back(
    three_weeks_on: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(three_weeks_on, "/work", **phone)
    assert faults(page) == []
    check = page.get_by_role("region", name="Late").get_by_role("button").first
    box = check.bounding_box()
    assert box is not None
    assert min(box["width"], box["height"]) >= 56  # a wet thumb finds it
    name = check.inner_text().strip()
    with page.expect_navigation():
        check.tap()
    told(page, name.rstrip("."))
    with page.expect_navigation():
        page.get_by_role("button", name="Undo", exact=True).tap()
    told(page, name.replace("Done:", "Open again:"))


def test_skipping_asks_for_a_reason(three_weeks_on: Served, visit: Callable[..., Page]) -> None:
    task = first_slip(three_weeks_on)
    page = visit(three_weeks_on, f"/tasks/{task.id}")
    page.get_by_text("Skip…").click()
    press(page, "Skip it")
    expect(page.get_by_role("alert")).to_contain_text("Why is it skipped? must be filled in.")
    fill(page, reason="The lot goes to another nursery")
    press(page, "Skip it")
    expect(page.get_by_role("main")).to_contain_text("The lot goes to another nursery")
    expect(page.locator(".status").filter(has_text="Skipped")).to_be_visible()


def test_a_slip_moves_what_waits_for_it_in_the_plan_and_in_the_calendar(
    three_weeks_on: Served, visit: Callable[..., Page]
) -> None:
    task = first_slip(three_weeks_on)
    with three_weeks_on.session() as session:
        behind = session.scalars(select(Task).where(Task.after_id == task.id, Task.job == Job.SOW)).first()
        behind = behind or session.scalars(select(Task).where(Task.after_id == task.id).limit(1)).one()
    page = visit(three_weeks_on, "/people")
    address = page.locator(".feed-address").inner_text()
    before = event(page, address, behind)

    page.goto(f"/tasks/{task.id}")
    expect(page.get_by_text("If it is done today")).to_be_visible()
    press(page, "Done today")
    told(page, "moved with it.")
    with three_weeks_on.session() as session:
        moved = session.get_one(Task, behind.id)
    assert (moved.due_on - behind.due_on) == LATER - task.due_on
    leave_by(page.get_by_role("list").filter(has=page.locator("strong")).get_by_role("link").last)
    expect(page.get_by_role("main")).to_contain_text("planned for")

    after = event(page, address, behind)
    assert after.dtstart.value == moved.due_on
    assert int(after.sequence.value) > int(before.sequence.value)


def event(page: Page, address: str, task: Task) -> vobject.base.Component:
    """A task's event, as another program reads it."""
    feed = vobject.readOne(page.request.get(address).text())
    return next(one for one in feed.contents["vevent"] if one.uid.value.startswith(task.uid))


def test_somebody_gets_work_and_a_sheet_of_it(three_weeks_on: Served, visit: Callable[..., Page]) -> None:
    page = visit(three_weeks_on)
    go(page, "Grow", "People")
    follow(page, "New person")
    fill(page, name="Xana Prado", hours_per_week="12,5")
    save(page, "Xana Prado")
    go(page, "Grow", "Today’s work")
    follow(page, "All tasks")
    for row in range(3):
        page.get_by_role("checkbox", name="Choose").nth(row).check()
    page.get_by_label("Give what is ticked to").select_option(label="Xana Prado")
    press(page, "Give")
    told(page, "3 tasks were given to Xana Prado.")
    go(page, "Grow", "People")
    follow(page, "Xana Prado")
    follow(page, "Sheet to print")
    expect(page.get_by_role("table")).to_have_count(1)
    expect(page.get_by_role("table").get_by_role("rowheader")).to_have_count(3)
    assert faults(page) == []


def test_a_sowing_task_leads_to_a_filled_form_and_to_a_batch_and_is_done_by_it(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    with own_demo.session() as session:
        task = session.scalars(
            select(Task)
            .where(Task.job == Job.SOW, Task.status == TaskStatus.OPEN, Task.key.like("t%-sow-l%"))
            .order_by(Task.due_on, Task.id)
            .limit(1)
        ).one()
        seeds, lot, site = task.details["seeds"], task.details["lot"], task.details["site"]
    page = visit(own_demo, f"/tasks/{task.id}")
    follow(page, "Sow it: the batch begins")
    heading(page, "Sow a batch")
    form = page.get_by_role("main")
    expect(form.locator("[name=lot_id]")).to_have_value(lot)
    expect(form.locator("[name=seeds]")).to_have_value(str(seeds))
    expect(form.get_by_text("The plan reckons with")).to_be_visible()
    assert faults(page) == []
    # Fewer trays than the seeds need are refused, and nothing that was filled in is lost.
    trays = form.locator("[name=trays]").input_value()
    fill(page, trays="1")
    press(page, "Sow")
    expect(page.get_by_role("alert")).to_contain_text("Correct the seeds or the trays")
    expect(form.locator("[name=seeds]")).to_have_value(str(seeds))
    fill(page, trays=trays)
    press(page, "Sow")

    told(page, f"{seeds:,} seeds left the lot")
    expect(page.get_by_role("main")).to_contain_text(site)
    follow(page, "Put them on a bench")
    assert faults(page) == []
    with own_demo.session() as session:
        batch = session.scalars(select(Batch).order_by(Batch.id.desc()).limit(1)).one()
        assert (batch.seeds, batch.trays) == (seeds, int(trays))
        assert session.get_one(Task, task.id).status is TaskStatus.DONE
    page.goto(f"/tasks/{task.id}")
    expect(page.locator(".status").filter(has_text="Done").first).to_be_visible()
