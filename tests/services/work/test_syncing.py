from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable
from contextlib import AbstractContextManager

from sqlalchemy import Engine, delete, func, select, update
from sqlalchemy.orm import Session

from nursery.models import Change, Draw, Lot, Plan, PlanLine, Task
from nursery.models.plans import LineStatus
from nursery.planning.work.words import Job, TaskStatus
from nursery.services.people import create_person
from nursery.services.planning import adopt_plan
from nursery.services.work.doing import assign_tasks, finish_task
from nursery.services.work.syncing import sync_tasks
from tests.conftest import Maker
from tests.plan_lines import add_draw, add_line, make_kept_plan, phases_of
from tests.services.work.conftest import START, STEPS, WINDOW, day

ANA = "Ana Seabra"
Tasks = Callable[[], dict[str, Task]]


def test_the_adopted_plan_becomes_dated_tasks_with_amounts_hours_and_last_days(tasks: Tasks, lot: Lot) -> None:
    found = tasks()

    told = [
        (key, task.job.value, f"{task.due_on}", task.amount, task.unit, f"{task.latest_on}")
        for key, task in sorted(found.items(), key=lambda item: (item[1].due_on, item[1].id))
        if task.job not in {Job.CHECK, Job.FEED}
    ]
    assert told == [
        (f"withdraw-l{lot.id}", "withdraw", "2026-12-01", 1.0, "lots", "2027-02-27"),
        ("soak", "soak", "2026-12-01", 1.0, "lots", "2027-02-27"),
        ("cold-stratify", "stratify", "2026-12-03", 1.0, "lots", "2027-03-01"),
        (f"sow-l{lot.id}", "sow", "2027-02-01", 480.0, "cells", "2027-04-30"),
        ("count-emerged", "count", "2027-03-03", 12.0, "trays", "2027-06-20"),
        ("thin", "thin", "2027-03-03", 480.0, "cells", "2027-06-20"),
        ("count-growing", "count", "2027-03-24", 12.0, "trays", "2027-07-11"),
        ("count-hardening", "count", "2027-10-02", 12.0, "trays", "2028-01-19"),
        ("move", "move", "2027-10-02", 12.0, "trays", "2028-01-19"),
        ("harden", "harden", "2027-10-02", 12.0, "trays", "2028-01-19"),
        ("grade", "grade", "2027-11-11", 440.0, "plants", "2028-02-28"),
        ("dispatch", "dispatch", "2027-11-21", 400.0, "plants", "2028-02-28"),
        (f"s{found['dispatch'].site_id}-2027", "survey", "2028-11-20", 400.0, "plants", "None"),
        (f"s{found['dispatch'].site_id}-2027-y3", "survey", "2030-11-20", 400.0, "plants", "None"),
        (f"s{found['dispatch'].site_id}-2027-y5", "survey", "2032-11-19", 400.0, "plants", "None"),
    ]
    assert found[f"sow-l{lot.id}"].hours == 480 * 2.5 / 1000


def test_looking_again_changes_nothing(session: Session, tasks: Tasks, today: dt.date) -> None:
    before = {task.uid: (task.sequence, task.due_on, task.version) for task in tasks().values()}

    synced = sync_tasks(session, ANA, today=today)

    assert (synced.made, synced.changed, synced.dropped) == (0, 0, 0)
    assert {task.uid: (task.sequence, task.due_on, task.version) for task in tasks().values()} == before


def next_plan(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, start: dt.date, today: dt.date
) -> PlanLine:
    """The same target in a newer plan."""
    session.execute(update(Plan).values(is_adopted=False))
    plan = make_kept_plan(session, today, label="Newer")
    newer = add_line(
        maker, plan, phases_of(start, *STEPS), key="fraxinus-angustifolia", basis={"window": WINDOW},
        target_id=line.target_id, site_id=line.site_id, protocol="warm-cold-direct",
    )  # fmt: skip
    add_draw(maker, newer, 960, 70_000, lot)
    return newer


def test_a_newer_plan_moves_tasks_in_place_and_who_has_them_stays(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, tasks: Tasks, today: dt.date
) -> None:
    person = create_person(session, ANA, values={"name": "Rui", "hours_per_week": 35.0}, today=today)
    soak = tasks()["soak"]
    assign_tasks(session, ANA, tasks=[soak], person_id=person.id)
    before = soak.sequence

    newer = next_plan(session, maker, line, lot, START + dt.timedelta(days=7), today)
    sync_tasks(session, ANA, today=today)

    found = tasks()["soak"]
    assert (found.id, found.uid, found.person_id, found.line_id) == (soak.id, soak.uid, person.id, newer.id)
    assert (found.due_on, found.planned_on, found.sequence) == (day("2026-12-08"), day("2026-12-08"), before + 1)


def test_work_that_is_begun_is_not_begun_again_by_a_newer_plan(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, tasks: Tasks, today: dt.date
) -> None:
    finish_task(session, ANA, task=tasks()[f"withdraw-l{lot.id}"], done_on=today, today=today)

    next_plan(session, maker, line, lot, START, today)
    sync_tasks(session, ANA, today=today)

    found = tasks()
    assert found[f"withdraw-l{lot.id}"].status is TaskStatus.DONE
    assert sum(task.job is Job.WITHDRAW for task in found.values()) == 1


def test_a_sowing_that_is_done_lets_a_newer_plan_sow_once_more(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, tasks: Tasks, today: dt.date
) -> None:
    finish_task(session, ANA, task=tasks()[f"sow-l{lot.id}"], done_on=today, today=today)

    next_plan(session, maker, line, lot, START + dt.timedelta(days=30), today)
    sync_tasks(session, ANA, today=today)

    sowings = session.scalars(select(Task).where(Task.job == Job.SOW).order_by(Task.id)).all()
    assert [(task.key, task.status.value) for task in sowings] == [
        (f"t{line.target_id}-sow-l{lot.id}", "done"), (f"t{line.target_id}r2-sow-l{lot.id}", "open"),
    ]  # fmt: skip


def test_what_the_plan_no_longer_asks_for_is_dropped_and_comes_back_with_it(
    session: Session, line: PlanLine, tasks: Tasks, today: dt.date
) -> None:
    line.status = LineStatus.LATE
    sync_tasks(session, ANA, today=today)
    dropped = tasks()["soak"]
    assert (dropped.status, dropped.sequence) == (TaskStatus.DROPPED, 1)

    line.status = LineStatus.ON_TRACK
    sync_tasks(session, ANA, today=today)

    assert (tasks()["soak"].status, tasks()["soak"].sequence) == (TaskStatus.OPEN, 2)


def test_a_line_that_its_batches_cover_asks_for_planting_alone(
    session: Session, line: PlanLine, tasks: Tasks, today: dt.date
) -> None:
    line.growing = {"covered": True, "batches": []}
    session.execute(delete(Draw))
    session.expire(line)
    sync_tasks(session, ANA, today=today)

    open_ones = {key for key, task in tasks().items() if task.status is TaskStatus.OPEN}
    survey = f"s{line.site_id}-2027"
    assert open_ones == {"dispatch", survey, f"{survey}-y3", f"{survey}-y5"}


def test_adopting_the_demo_s_plan_makes_every_kind_of_task_in_few_queries(
    demo_session: Session, today: dt.date, count_queries: Callable[[Engine], AbstractContextManager[list[str]]]
) -> None:
    jobs = Counter(demo_session.scalars(select(Task.job)))
    engine = demo_session.get_bind().engine
    lines = demo_session.scalar(select(func.count()).select_from(PlanLine)) or 0

    with count_queries(engine) as statements:
        synced = sync_tasks(demo_session, ANA, today=today)

    assert set(jobs) >= {
        Job.NOTICE, Job.COLLECT, Job.RETEST, Job.WITHDRAW, Job.SOAK, Job.SCARIFY, Job.STRATIFY, Job.CHECK, Job.SOW,
        Job.PRICK_OUT, Job.THIN, Job.FEED, Job.MOVE, Job.COUNT, Job.HARDEN, Job.GRADE, Job.DISPATCH, Job.SURVEY,
    }  # fmt: skip
    assert (synced.made, synced.dropped) == (0, 0)
    assert len(statements) < 100 < lines * 5


def test_adopting_is_noted_once_and_not_task_by_task(session: Session, maker: Maker, today: dt.date) -> None:
    plan = make_kept_plan(session, today, adopted=False)
    add_line(maker, plan, phases_of(START, *STEPS))

    adopt_plan(session, ANA, plan_id=plan.id, today=today)

    noted = session.scalars(select(Change).where(Change.action == "tasks updated")).all()
    assert [(change.subject, change.subject_id, change.details["dropped"]) for change in noted] == [
        ("plans", plan.id, 0)
    ]
    assert not session.scalar(select(func.count()).select_from(Change).where(Change.subject == "tasks"))
