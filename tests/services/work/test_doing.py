from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Lot, Task
from nursery.planning.work.slips import Cost
from nursery.planning.work.words import TaskStatus
from nursery.services import auditing
from nursery.services.work.costing_slips import slips_if_done
from nursery.services.work.doing import finish_task, move_task, part_task, reopen_task, skip_task
from nursery.services.work.syncing import sync_tasks
from tests.services.work.conftest import day

ANA = "Ana Seabra"
Tasks = Callable[[], dict[str, Task]]


def test_done_late_moves_what_waits_and_says_what_it_costs(session: Session, tasks: Tasks, lot: Lot) -> None:
    late = day("2026-12-22")

    done = finish_task(session, ANA, task=tasks()["soak"], done_on=late, today=late)

    found = tasks()
    # The soak was due on 1 December; from its end on everything moves by 21 days, planting by 11 since 10 waited.
    assert (found["cold-stratify"].due_on, found["cold-stratify"].until_on) == (
        day("2026-12-24"),
        day("2027-02-22"),
    )
    assert found["check-cold-stratify-1"].due_on == day("2027-01-07")
    assert found[f"sow-l{lot.id}"].due_on == day("2027-02-22")
    assert found["dispatch"].due_on == day("2027-12-02")
    assert found["dispatch"].planned_on == day("2027-11-21")
    assert done.slip.text == "This moves planting from 21 Nov 2027 to 2 Dec 2027, still in the window."
    assert done.slip.season is not None
    assert done.slip.season.cost is Cost.IN_WINDOW


def test_a_slip_that_a_wait_takes_up_costs_nothing(session: Session, tasks: Tasks, lot: Lot) -> None:
    done = finish_task(session, ANA, task=tasks()["soak"], done_on=day("2026-12-08"), today=day("2026-12-08"))

    assert tasks()[f"sow-l{lot.id}"].due_on == day("2027-02-08")
    assert done.slip.text == "Planting stays on 21 Nov 2027."


def test_a_sowing_after_its_months_and_a_planting_past_its_window_are_told(session: Session, tasks: Tasks) -> None:
    spring, summer = day("2027-03-20"), day("2027-04-20")

    sowing = slips_if_done(session, [tasks()["soak"]], spring)[tasks()["soak"].id]
    planting = slips_if_done(session, [tasks()["soak"]], summer)[tasks()["soak"].id]

    assert sowing.text == (
        "The sowing would fall on 21 May 2027, after its last month; its last day is 30 Apr 2027."
        " This moves planting from 21 Nov 2027 to 28 Feb 2028, still in the window."
    )
    assert planting.text == (
        "Planting would be on 30 Mar 2028, past the last day 28 Feb 2028: 400 plants of Fraxinus angustifolia for"
        " Azenha bank would be late."
    )
    assert (sowing.tone, planting.tone) == ("stop", "stop")
    assert tasks()["cold-stratify"].due_on == day("2026-12-03")  # nothing was written


def test_partly_done_keeps_the_task_open_with_its_amount(session: Session, tasks: Tasks, lot: Lot) -> None:
    today = day("2027-02-01")
    sow = tasks()[f"sow-l{lot.id}"]

    part_task(session, ANA, task=sow, amount=200, done_on=today, today=today)
    assert (sow.status, sow.done_amount, sow.done_on) == (TaskStatus.PARTLY, 200, None)
    with pytest.raises(Invalid, match="200 of it is done already"):
        part_task(session, ANA, task=sow, amount=150, done_on=today, today=today)
    part_task(session, ANA, task=sow, amount=480, done_on=today, today=today)

    assert (sow.status, sow.done_amount, sow.done_on) == (TaskStatus.DONE, 480, today)


def test_skipping_needs_a_reason_and_moves_nobody(session: Session, tasks: Tasks, today: dt.date) -> None:
    look = tasks()["check-cold-stratify-1"]

    with pytest.raises(Invalid, match="Say why"):
        skip_task(session, ANA, task=look, reason="  ", today=today)
    done = skip_task(session, ANA, task=look, reason="Seed was turned yesterday", today=today)

    assert (look.status, look.reason, done.slip.moved) == (TaskStatus.SKIPPED, "Seed was turned yesterday", 0)


def test_undo_opens_a_task_and_brings_what_waits_back(session: Session, tasks: Tasks, lot: Lot) -> None:
    late = day("2027-01-10")
    finish_task(session, ANA, task=tasks()["soak"], done_on=late, today=late)

    back = reopen_task(session, ANA, task=tasks()["soak"], today=late)

    found = tasks()
    assert (found["soak"].status, found["soak"].done_on, found["soak"].done_by) == (TaskStatus.OPEN, None, "")
    assert found[f"sow-l{lot.id}"].due_on == day("2027-02-01")
    assert back.slip.text == "Planting is back on 21 Nov 2027."
    assert [change.action for change in auditing.history(session, found["soak"])] == ["opened again", "done"]


def test_a_task_put_off_moves_followers_until_the_plan_sets_another_day(
    session: Session, tasks: Tasks, lot: Lot, today: dt.date
) -> None:
    move_task(session, ANA, task=tasks()["soak"], due_on=day("2026-12-15"), today=today)
    assert tasks()[f"sow-l{lot.id}"].due_on == day("2027-02-15")

    sync_tasks(session, ANA, today=today)
    assert (tasks()["soak"].due_on, tasks()["soak"].planned_on) == (day("2026-12-15"), day("2026-12-01"))

    reopen_task(session, ANA, task=tasks()["soak"], today=today)
    assert tasks()["soak"].due_on == day("2026-12-01")


def test_what_cannot_be_is_refused(session: Session, tasks: Tasks, today: dt.date) -> None:
    soak = tasks()["soak"]

    with pytest.raises(Invalid, match="still to come"):
        finish_task(session, ANA, task=soak, done_on=today + dt.timedelta(days=1), today=today)
    with pytest.raises(Invalid, match="more than a year before the day it was planned for"):
        finish_task(session, ANA, task=soak, done_on=soak.planned_on - dt.timedelta(days=367), today=today)
    with pytest.raises(Invalid, match="past"):
        move_task(session, ANA, task=soak, due_on=today - dt.timedelta(days=1), today=today)
    with pytest.raises(Invalid, match="three years"):
        move_task(session, ANA, task=soak, due_on=day("2031-01-01"), today=today)
    with pytest.raises(Invalid, match="more than 0"):
        part_task(session, ANA, task=soak, amount=0, done_on=today, today=today)
    finish_task(session, ANA, task=soak, done_on=today, today=today)
    with pytest.raises(Conflict, match="no longer open"):
        finish_task(session, ANA, task=soak, done_on=today, today=today)
