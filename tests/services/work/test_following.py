from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Batch, Container, Lot, PlanLine, Task
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.planning.work.words import Job, TaskStatus
from nursery.services.batches.counting import record_count
from nursery.services.batches.dispatching import dispatch
from nursery.services.batches.sowing import sow
from nursery.services.batches.withdrawing import withdraw_count
from nursery.services.people import create_person
from nursery.services.work.costing_slips import slips_if_done
from nursery.services.work.doing import assign_tasks, finish_task
from nursery.services.work.reading import Asked, read_today
from nursery.services.work.syncing import sync_tasks
from tests.conftest import Maker
from tests.services.work.conftest import day, status_of

ANA = "Ana Seabra"
Tasks = Callable[[], dict[str, Task]]


def sown(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, seeds: int = 960, on: str = "2027-02-05"
) -> Batch:
    container = session.scalar(select(Container)) or maker.container()
    return sow(
        session, ANA, lot=lot, seeds=seeds, trays=seeds // 80, container_id=container.id, method=Method.DIRECT,
        protocol="warm-cold-direct", sown_on=day(on), today=day(on), line_id=line.id, milligrams=seeds * 70,
    )  # fmt: skip


def test_a_sowing_finishes_what_came_before_it_and_gives_the_batch_its_own_tasks(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, tasks: Tasks
) -> None:
    tasks()
    batch = sown(session, maker, line, lot)

    found = tasks()
    assert [found[key].status for key in (f"withdraw-l{lot.id}", "soak", "cold-stratify", f"sow-l{lot.id}")] == [
        TaskStatus.DONE
    ] * 4
    assert found[f"sow-l{lot.id}"].done_on == day("2027-02-05")
    mine = session.scalars(select(Task).where(Task.batch_id == batch.id).order_by(Task.due_on, Task.id)).all()
    assert [task.key.partition("-")[2] for task in mine] == [
        "count-emerged", "thin", "count-growing", "count-hardening", "move", "harden", "grade",
    ]  # fmt: skip
    assert {task.line_id for task in mine} == {line.id}
    of_line = session.scalars(select(Task).where(Task.key == f"t{line.target_id}-count-emerged")).one()
    assert of_line.status is TaskStatus.DROPPED
    assert found["dispatch"].after_id == mine[-1].id


def test_the_work_of_a_batch_is_not_done_before_it_was_sown(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, tasks: Tasks
) -> None:
    tasks()
    batch = sown(session, maker, line, lot)
    count = session.scalars(select(Task).where(Task.batch_id == batch.id).order_by(Task.due_on)).first()

    assert count is not None
    with pytest.raises(Invalid, match="was sown on 5 Feb 2027; nothing happened to it before"):
        finish_task(session, ANA, task=count, done_on=day("2027-02-04"), today=day("2027-04-01"))
    assert count.status is TaskStatus.OPEN


def test_half_a_sowing_leaves_the_other_half_to_do(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, tasks: Tasks
) -> None:
    tasks()
    sown(session, maker, line, lot, seeds=480)

    found = {task.key: task for task in session.scalars(select(Task))}
    sowing = found[f"t{line.target_id}-sow-l{lot.id}"]
    assert (sowing.status, sowing.done_amount) == (TaskStatus.PARTLY, 240)
    assert found[f"t{line.target_id}-count-emerged"].amount == 6


def test_a_count_finishes_its_task_and_dates_the_next_ones_and_withdrawn_opens_it_again(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, tasks: Tasks
) -> None:
    tasks()
    batch = sown(session, maker, line, lot)
    count = record_count(
        session,
        ANA,
        batch=batch,
        stage=Stage.EMERGED,
        counted_on=day("2027-03-20"),
        today=day("2027-03-20"),
        plants=300,
    )

    mine = {t.key.partition("-")[2]: t for t in session.scalars(select(Task).where(Task.batch_id == batch.id))}
    assert (mine["count-emerged"].status, mine["count-emerged"].done_on) == (TaskStatus.DONE, day("2027-03-20"))
    assert mine["thin"].planned_on == day("2027-03-20")
    assert mine["grade"].amount == 300

    withdraw_count(session, ANA, count=count, reason="Counted the wrong trays", today=day("2027-03-21"))

    assert (mine["count-emerged"].status, mine["count-emerged"].done_on) == (TaskStatus.OPEN, None)


def test_plants_sent_out_do_part_of_the_dispatch_and_then_all_of_it(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, tasks: Tasks
) -> None:
    tasks()
    batch = sown(session, maker, line, lot)
    when = day("2027-12-01")
    record_count(session, ANA, batch=batch, stage=Stage.READY, counted_on=when, today=when, plants=420)
    dispatch(session, ANA, batch=batch, site_id=line.site_id, plants=150, happened_on=when, today=when)
    task = session.scalars(select(Task).where(Task.job == Job.DISPATCH)).one()
    assert (task.status, task.done_amount) == (TaskStatus.PARTLY, 150)

    dispatch(session, ANA, batch=batch, site_id=line.site_id, plants=250, happened_on=when, today=when)

    assert (task.status, task.done_amount, task.done_on) == (TaskStatus.DONE, 400, when)


def test_a_batch_that_nobody_planned_has_tasks_too(session: Session, maker: Maker, today: dt.date) -> None:
    lot = maker.lot(population=maker.population(species=maker.species("fraxinus-angustifolia")), germination=0.5)
    batch = sow(
        session, ANA, lot=lot, seeds=80, trays=1, container_id=maker.container().id, method=Method.DIRECT,
        protocol="warm-cold-direct", sown_on=today, today=today, milligrams=6_000,
    )  # fmt: skip

    found = {task.key: task for task in session.scalars(select(Task))}
    assert found[f"b{batch.id}-count-emerged"].lot_id == lot.id
    assert status_of(found)[f"b{batch.id}-grade"] == "open"


def test_a_planting_waits_for_the_last_of_its_batches(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, tasks: Tasks
) -> None:
    tasks()
    sown(session, maker, line, lot, seeds=480, on="2027-02-05")
    second = sown(session, maker, line, lot, seeds=480, on="2027-02-08")
    planting = session.scalars(select(Task).where(Task.job == Job.DISPATCH)).one()
    gradings = session.scalars(select(Task).where(Task.job == Job.GRADE, Task.batch_id.is_not(None))).all()
    first_grading, last_grading = sorted(gradings, key=lambda task: task.due_on)
    assert (last_grading.batch_id, planting.after_id) == (second.id, last_grading.id)

    # The batch that was to be graded first is graded last of all, after the planting was to be.
    late = planting.due_on + dt.timedelta(days=20)
    cost = slips_if_done(session, [first_grading], late)[first_grading.id]
    finish_task(session, ANA, task=first_grading, done_on=late, today=late)

    assert cost.text.startswith("This moves planting from 21 Nov 2027 to 11 Dec 2027")
    assert (planting.after_id, planting.due_on) == (first_grading.id, late)


def test_whoever_had_the_work_of_a_line_has_that_of_its_batch(
    session: Session, maker: Maker, line: PlanLine, lot: Lot, tasks: Tasks, today: dt.date
) -> None:
    rui = create_person(session, ANA, values={"name": "Rui", "hours_per_week": 35.0}, today=today)
    assign_tasks(session, ANA, tasks=[tasks()["thin"]], person_id=rui.id)

    batch = sown(session, maker, line, lot)

    thin = session.scalars(select(Task).where(Task.key == f"b{batch.id}-thin")).one()
    assert thin.person_id == rui.id


def test_a_round_of_feeding_that_another_has_followed_is_no_longer_asked_for(
    session: Session, maker: Maker, line: PlanLine, tasks: Tasks
) -> None:
    nursery = maker.nursery(name="River yard")
    sync_tasks(session, ANA, today=day("2027-03-01"))
    rounds = session.scalars(select(Task).where(Task.job == Job.FEED).order_by(Task.due_on)).all()
    first, second = rounds[0].due_on, rounds[1].due_on
    assert {task.nursery_id for task in rounds} == {nursery.id}
    late = read_today(session, Asked(job="feed"), today=second - dt.timedelta(days=1)).late
    assert [task.due_on for task in late] == [first]

    shown = [task.due_on for task in read_today(session, Asked(job="feed"), today=second).today]
    sync_tasks(session, ANA, today=second)

    assert shown == [second]
    assert rounds[0].status is TaskStatus.DROPPED
    assert tasks()["soak"].status is TaskStatus.OPEN
