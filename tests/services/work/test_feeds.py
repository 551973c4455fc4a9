from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
import vobject
from sqlalchemy.orm import Session

from nursery.errors import NotFound
from nursery.models import Lot, PlanLine, Task
from nursery.models.plans import LineStatus
from nursery.services import records
from nursery.services.people import create_person
from nursery.services.work.doing import assign_tasks, finish_task, move_task, skip_task
from nursery.services.work.feeds import renew_address, renew_common_address, work_feed
from nursery.services.work.syncing import sync_tasks
from tests.services.work.conftest import day

ANA = "Ana Seabra"
NOW = dt.datetime(2026, 11, 25, 9, 30, tzinfo=dt.UTC)
Tasks = Callable[[], dict[str, Task]]


def read(session: Session, token: str, today: dt.date, now: dt.datetime = NOW) -> Any:
    """The feed as a parser that shares no code with its writer understands it."""
    found = work_feed(
        session,
        token=token,
        today=today,
        now=now,
        address=lambda task_id: f"https://nursery.example/tasks/{task_id}",
    )
    return vobject.readOne(found.decode("utf-8"))


def events(calendar: Any) -> dict[str, Any]:
    return {event.uid.value: event for event in calendar.contents.get("vevent", [])}


@pytest.fixture
def token(session: Session, tasks: Tasks) -> str:
    return renew_common_address(session, ANA)


def test_every_task_is_an_all_day_event_with_its_words_and_its_address(
    session: Session, tasks: Tasks, token: str, lot: Lot, today: dt.date
) -> None:
    sow = tasks()[f"sow-l{lot.id}"]

    calendar = read(session, token, today)
    event = events(calendar)[f"{sow.uid}@nursery-work"]

    assert (calendar.version.value, calendar.method.value) == ("2.0", "PUBLISH")
    assert calendar.contents["x-wr-calname"][0].value == "Work in the nursery"
    assert (event.dtstart.value, event.dtend.value) == (day("2027-02-01"), day("2027-02-02"))
    assert event.dtstart.params == {"VALUE": ["DATE"]}
    assert event.dtstamp.value == NOW
    assert (event.sequence.value, event.status.value) == ("0", "CONFIRMED")
    assert event.summary.value == "Sow in cells · Fraxinus angustifolia"
    assert event.url.value == f"https://nursery.example/tasks/{sow.id}"
    assert event.description.value.splitlines() == [
        "960 seeds · 480 cells · 2 to a cell", lot.code, "for Azenha bank, 2027/28", event.url.value,
    ]  # fmt: skip


def test_an_event_keeps_its_name_and_moves_with_a_higher_number_after_a_slip(
    session: Session, tasks: Tasks, token: str, lot: Lot, today: dt.date
) -> None:
    uid = f"{tasks()[f'sow-l{lot.id}'].uid}@nursery-work"
    before = events(read(session, token, today))[uid]

    finish_task(session, ANA, task=tasks()["soak"], done_on=day("2026-12-22"), today=day("2026-12-22"))
    later = NOW + dt.timedelta(days=27)
    after = events(read(session, token, day("2026-12-22"), later))[uid]

    assert after.dtstart.value - before.dtstart.value == dt.timedelta(days=21)
    assert int(after.sequence.value) > int(before.sequence.value)
    assert after.dtstamp.value > before.dtstamp.value


def test_what_is_skipped_or_no_longer_asked_for_is_cancelled_for_a_time(
    session: Session, line: PlanLine, tasks: Tasks, token: str, today: dt.date
) -> None:
    look, soak = tasks()["check-cold-stratify-1"], tasks()["soak"]
    skip_task(session, ANA, task=look, reason="Turned yesterday", today=today)
    line.status = LineStatus.LATE
    sync_tasks(session, ANA, today=today)

    soon = events(read(session, token, today))
    much_later = events(read(session, token, day("2027-04-01")))

    assert {uid: soon[uid].status.value for uid in soon if uid.startswith((look.uid, soak.uid))} == {
        f"{look.uid}@nursery-work": "CANCELLED", f"{soak.uid}@nursery-work": "CANCELLED",
    }  # fmt: skip
    assert int(soon[f"{soak.uid}@nursery-work"].sequence.value) == 1
    assert not any(uid.startswith((look.uid, soak.uid)) for uid in much_later)


def test_done_stays_in_the_calendar_and_says_so(
    session: Session, tasks: Tasks, token: str, today: dt.date
) -> None:
    soak = tasks()["soak"]
    finish_task(session, ANA, task=soak, done_on=today, today=today)

    event = events(read(session, token, today))[f"{soak.uid}@nursery-work"]

    assert (event.summary.value, event.status.value) == ("Done: Put to soak · Fraxinus angustifolia", "CONFIRMED")


def test_each_person_has_the_tasks_given_to_them_at_an_address_of_their_own(
    session: Session, tasks: Tasks, today: dt.date
) -> None:
    rui = create_person(session, ANA, values={"name": "Rui Vale", "hours_per_week": 35.0}, today=today)
    assign_tasks(session, ANA, tasks=[tasks()["soak"]], person_id=rui.id)

    calendar = read(session, rui.feed_token, today)

    assert calendar.contents["x-wr-calname"][0].value == "Work of Rui Vale"
    assert list(events(calendar)) == [f"{tasks()['soak'].uid}@nursery-work"]
    old, new = rui.feed_token, renew_address(session, ANA, person=rui)
    assert list(events(read(session, new, today))) == list(events(calendar))
    with pytest.raises(NotFound):
        read(session, old, today)
    records.archive(session, ANA, rui)
    with pytest.raises(NotFound):
        read(session, new, today)


@pytest.mark.parametrize("text", ["", "x", "none"])
def test_an_address_that_nobody_has_is_not_found(
    session: Session, tasks: Tasks, text: str, today: dt.date
) -> None:
    tasks()
    with pytest.raises(NotFound):
        read(session, text, today)


def test_long_lines_are_folded_and_odd_signs_come_through(
    session: Session, tasks: Tasks, token: str, today: dt.date
) -> None:
    soak = tasks()["soak"]
    soak.reason = "Água à espera; viver, crescer\nplantar " + "ção " * 40
    session.flush()

    found = work_feed(session, token=token, today=today, now=NOW, address=lambda _task: "https://nursery.example")
    event = events(vobject.readOne(found.decode("utf-8")))[f"{soak.uid}@nursery-work"]

    assert max(len(line) for line in found.split(b"\r\n")) <= 75
    assert soak.reason.strip() in event.description.value


def test_a_person_s_calendar_is_told_when_a_day_is_moved_by_hand(
    session: Session, tasks: Tasks, token: str, today: dt.date
) -> None:
    soak = tasks()["soak"]
    move_task(session, ANA, task=soak, due_on=day("2026-12-09"), today=today)

    event = events(read(session, token, today))[f"{soak.uid}@nursery-work"]

    assert event.dtstart.value == day("2026-12-09")
    assert int(event.sequence.value) > 0
