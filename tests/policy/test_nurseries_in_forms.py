"""What a form names is asked for whose it is, too: a bound account writes nothing of other nurseries."""

from __future__ import annotations

import datetime as dt
import io
import re
from collections.abc import Callable, Iterator
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import (
    Batch,
    Bench,
    Container,
    Dispatch,
    Lot,
    Person,
    Placement,
    Planting,
    Site,
    Target,
    Task,
)
from nursery.planning.work.words import TaskStatus
from nursery.services.forecast.moving import offers_to
from nursery.services.forecast.promises import read_forecasts
from tests.conftest import TODAY
from tests.policy.apart import BOUND, FREE, OWN, THEIRS
from tests.policy.belongings import BY_FORM
from tests.policy.roles import browser_of, endpoint_of

Form = dict[str, Any]
DAY = TODAY.isoformat()
#: What a refusal tells, on a page of its own, at the field, or where the list of choices has it no longer.
TOLD = ("belongs to the nursery", "This choice is no longer in the list")


class Records:
    """Records of a nursery by what forms call them."""

    def __init__(self, session: Session, nursery_id: int) -> None:
        self.session, self.nursery_id = session, nursery_id

    def batch(self, skip: int = 0) -> Batch:
        living = select(Batch).where(Batch.archived_at.is_(None), Batch.alive > 50).order_by(Batch.id)
        own = living.where(Batch.nursery_id == self.nursery_id)
        return self.session.scalars(own.offset(skip).limit(1)).one()

    def bench(self, skip: int = 0) -> str:
        there = select(Bench.id).where(Bench.nursery_id == self.nursery_id).order_by(Bench.id)
        return str(self.session.scalar(there.offset(skip).limit(1)))

    def container(self) -> str:
        there = select(Container.id).where(Container.nursery_id == self.nursery_id)
        return str(self.session.scalar(there.limit(1)))

    def task(self, skip: int = 0) -> str:
        is_open = select(Task.id).where(Task.status == TaskStatus.OPEN, Task.batch_id.is_(None))
        own = is_open.where(Task.nursery_id == self.nursery_id, Task.due_on >= TODAY).order_by(Task.id)
        return str(self.session.scalar(own.offset(skip).limit(1)))


def simple_forms(session: Session, theirs: Records) -> Iterator[tuple[str, Form]]:
    """An address and what is sent there, naming records of the other nursery."""
    code = theirs.batch().code
    yield "/benches/new", {"nursery_id": theirs.nursery_id, "name": "Far end", "area_m2": "4"}
    tray = {"name": "Deep 24", "cells_per_tray": "24", "cell_volume_cm3": "350"}
    yield "/containers/new", {"nursery_id": theirs.nursery_id, **tray}
    spent = {"what": "Fleece", "spent_on": DAY, "amount": "40"}
    yield "/expenses/new", {**spent, "batch_id": code}
    shut = {"reason": "Spots on the leaves", "since": DAY}
    yield "/health/quarantines/new", {**shut, "bench_id": theirs.bench(1)}
    worked = {"job": "sow", "hours": "2", "worked_on": DAY}
    yield "/hours/log/new", {**worked, "batch_id": code}
    yield "/hours/log/new", {**worked, "task_id": theirs.task()}
    seen = {"finding": "disease", "description": "Spots", "seen_on": DAY}
    used = {
        "product": "Sulphur 80", "dose": "2", "dose_unit": "g per l", "treated_on": "2026-11-24",
        "treated_time": "07:30",
    }  # fmt: skip
    for where in ({"batch_id": code}, {"bench_id": theirs.bench()}, {"nursery_id": theirs.nursery_id}):
        yield "/scoutings/new", {**seen, **where}
        yield "/treatments/new", {**used, **where}
    yield "/supplies/new", {
        "name": "Trays, second hand", "kind": "container", "unit": "pieces", "container_id": theirs.container(),
    }  # fmt: skip
    site = session.scalars(select(Site).where(Site.archived_at.is_(None)).limit(1)).one()
    yield "/plantings/new", {"site_id": site.code, "batch_id": code, "planted_on": DAY, "plants": "5"}
    worker = session.scalars(select(Person).where(Person.archived_at.is_(None)).limit(1)).one()
    yield "/tasks/assign", {"task": theirs.task(), "person": str(worker.id)}
    yield (
        "/nurseries/new",
        {"name": "One more yard", "latitude": "40.1", "longitude": "-7.4", "bench_area_m2": "9"},
    )
    seed = select(Lot).where(Lot.amount_mg > 100_000, Lot.archived_at.is_(None), ~Lot.is_held)
    lot = session.scalars(seed.order_by(Lot.id).limit(1)).one()
    sown = {"lot_id": lot.code, "seeds": "20", "trays": "1", "method": "direct", "sown_on": DAY}
    yield "/batches/new", {**sown, "container_id": theirs.container()}


def forms_of_own_records(session: Session, theirs: Records, own: Records) -> Iterator[tuple[str, Form]]:
    """The same where one's own record is to be tied to the other nursery's."""
    bench = session.get_one(Bench, int(own.bench()))
    moved = {"nursery_id": theirs.nursery_id, "name": bench.name, "area_m2": "12", "version": str(bench.version)}
    yield f"/benches/{bench.id}/edit", moved
    standing = session.scalars(
        select(Placement).join(Batch).where(
            Batch.nursery_id == own.nursery_id, Placement.until_on.is_(None), Batch.archived_at.is_(None),
        ).limit(1)
    ).one()  # fmt: skip
    yield f"/batches/{standing.batch_id}/act/move", {
        "from_bench_id": str(standing.bench_id), "bench_id": theirs.bench(), "trays": "1", "happened_on": DAY,
    }  # fmt: skip
    load = session.scalars(select(Dispatch).where(Dispatch.code == "L26-FREE")).one()
    code = theirs.batch(1).code
    yield f"/loads/{load.id}/lines/new", {"batch_id": code, "plants": "3", "grade": ""}
    yield "/health/quarantines/new", {"reason": "Spots on the leaves", "since": DAY, "batch_id": code}


def mistakes(told: str) -> list[str]:
    """What a form says of its fields."""
    return re.findall(r'<li><a href="#[^"]*">([^<]*)', told)


def send(client: FlaskClient, path: str, form: Form) -> str:
    """What is told in the end."""
    answer = client.post(path, data=form, follow_redirects=True)
    return answer.text


def test_what_names_a_record_of_another_nursery_is_refused_and_taken_from_others(
    apart: tuple[Flask, Session], written: Callable[[], bool]
) -> None:
    app, session = apart
    theirs, own = Records(session, THEIRS), Records(session, OWN)
    site = session.scalars(select(Site.id).limit(1)).one()
    session.add(Dispatch(code="L26-FREE", site_id=site, planned_on=TODAY))
    session.commit()
    bound, free = browser_of(app, BOUND), browser_of(app, FREE)
    assert written()
    wrong, tried = [], set()
    for path, form in [*simple_forms(session, theirs), *forms_of_own_records(session, theirs, own)]:
        tried.add(endpoint_of(app, path, "POST"))
        told = send(bound, path, form)
        if written() or not any(each in told for each in TOLD):
            wrong.append(("bound", path, form, mistakes(told)))
        told = send(free, path, form)
        if not written():
            wrong.append(("free", path, form, mistakes(told)))

    assert wrong == []
    assert BY_FORM - tried == {
        "forecast.move", "imports.upload", "imports.confirm", "work.done_many", "work.move_many",
    }  # fmt: skip


def test_of_ticked_tasks_those_of_another_nursery_are_named_and_left(apart: tuple[Flask, Session]) -> None:
    app, session = apart
    session.rollback()
    theirs, own = Records(session, THEIRS), Records(session, OWN)
    later = TODAY + dt.timedelta(days=9)
    seen = []
    for path, form in (("/tasks/move", {"due_on": later.isoformat()}), ("/tasks/done", {})):
        left, taken = int(theirs.task(1)), int(own.task(1))
        before = session.get_one(Task, left)
        kept, times = (before.status, before.due_on, before.version), session.get_one(Task, taken).sequence
        told = send(browser_of(app, BOUND), path, {**form, "task": [str(left), str(taken)]})
        session.rollback()
        after, done = session.get_one(Task, left), session.get_one(Task, taken)
        assert (TOLD[0] in told, (after.status, after.due_on, after.version)) == (True, kept)
        seen.append((done.status, done.sequence - times))

    assert seen == [(TaskStatus.OPEN, 1), (TaskStatus.DONE, 1)]


def test_a_file_brings_no_plantings_of_another_nurserys_plants(
    apart: tuple[Flask, Session], written: Callable[[], bool]
) -> None:
    app, session = apart
    batch, lot = session.execute(
        select(Batch, Lot).join(Lot, Batch.lot_id == Lot.id)
        .where(Batch.nursery_id == THEIRS, Batch.alive > 50, Lot.archived_at.is_(None)).limit(1)
    ).one()  # fmt: skip
    site = session.scalars(select(Site).where(Site.archived_at.is_(None)).limit(1)).one()
    table = f"Site code;Lot code;Batch;Planted on;Plants\n{site.code};{lot.code};{batch.code};{DAY};7\n"
    file = (io.BytesIO(table.encode()), "planted.csv")
    waits = browser_of(app, BOUND).post("/imports", data={"kind": "plantings", "file": file})
    assert waits.status_code == 303
    assert written()  # the file itself waits
    preview = browser_of(app, BOUND).get(waits.location).text
    form: Form = {"seen": re.findall(r'name="seen" value="([^"]*)"', preview)}
    told = send(browser_of(app, BOUND), waits.location, form)

    assert (written(), TOLD[0] in told) == (False, True)
    assert browser_of(app, FREE).post(waits.location, data=form).location == f"{waits.location}/done"
    session.rollback()
    assert session.scalars(select(Planting.plants).order_by(Planting.id.desc())).first() == 7


def test_a_batch_of_another_nursery_is_given_to_no_other_target(
    apart: tuple[Flask, Session], written: Callable[[], bool]
) -> None:
    app, session = apart
    session.rollback()
    moves = []
    for species_id in session.scalars(select(Target.species_id).distinct()):
        found = read_forecasts(session, today=TODAY, species_id=species_id)
        for taker in found.targets:
            moves += [(taker.target_id, one.batch_id) for one in offers_to(session, taker, found, today=TODAY)]
    theirs = set(session.scalars(select(Batch.id).where(Batch.nursery_id == THEIRS)))
    target_id, batch_id = next(move for move in moves if move[1] in theirs)
    path, form = f"/forecast/{target_id}/move", {"batch_id": str(batch_id)}
    told = send(browser_of(app, BOUND), path, form)

    assert (written(), TOLD[0] in told) == (False, True)
    send(browser_of(app, FREE), path, form)
    assert written()
