from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.models import Lot, PlanLine, Task
from nursery.services.listing import ListQuery, read_page
from nursery.services.people import create_person
from nursery.services.weeks import Week
from nursery.services.work import words
from nursery.services.work.doing import assign_tasks, finish_task
from nursery.services.work.instructions import instructions
from nursery.services.work.listing import listing_of
from nursery.services.work.reading import Asked, late_and_next, load_of, read_today, read_week
from tests.services.work.conftest import day

ANA = "Ana Seabra"
Tasks = Callable[[], dict[str, Task]]


def steps(tasks: Sequence[Task]) -> list[str]:
    return [task.key.partition("-")[2] for task in tasks]


def test_late_comes_first_then_today_then_the_rest_of_the_week(session: Session, tasks: Tasks, lot: Lot) -> None:
    tasks()

    found = read_today(session, Asked(), today=day("2026-12-03"))

    assert steps(found.late) == [f"withdraw-l{lot.id}", "soak"]
    assert (steps(found.today), steps(found.week), found.late_in_all) == (["cold-stratify"], [], 2)
    assert found.next_task is not None
    assert found.next_task.due_on == day("2026-12-17")
    assert found.slips[found.late[0].id].text == "Planting stays on 21 Nov 2027."
    assert late_and_next(session, today=day("2026-12-03"), most=1) == (2, [found.late[0]])


def test_tasks_are_asked_for_by_person_place_and_work(
    session: Session, line: PlanLine, tasks: Tasks, today: dt.date
) -> None:
    rui = create_person(session, ANA, values={"name": "Rui", "hours_per_week": 35.0}, today=today)
    assign_tasks(session, ANA, tasks=[tasks()["soak"]], person_id=rui.id)
    week = Week.of(day("2026-12-01"))

    asked = {
        "person": Asked(person=str(rui.id)), "nobody": Asked(person="none"),
        "site": Asked(place=f"s{line.site_id}"), "elsewhere": Asked(place="s999"),
        "work": Asked(job="stratify"), "nonsense": Asked("x", "zz", "juggle"),
    }  # fmt: skip
    found = {name: len(read_week(session, one, week)) for name, one in asked.items()}

    assert found == {"person": 1, "nobody": 2, "site": 3, "elsewhere": 0, "work": 1, "nonsense": 3}
    load = load_of(session, rui, today=day("2026-12-02"))
    assert (load.late, load.this_week, load.hours) == (1, 0, 0.25)


def test_a_day_s_page_costs_as_many_queries_for_many_late_tasks_as_for_few(
    session: Session, tasks: Tasks, engine: Engine,
    count_queries: Callable[[Engine], AbstractContextManager[list[str]]],
) -> None:  # fmt: skip
    tasks()
    session.commit()
    session.expunge_all()
    sent = []
    for today in (day("2026-12-02"), day("2027-12-31")):
        session.expunge_all()
        with count_queries(engine) as statements:
            found = read_today(session, Asked(), today=today)
            assert [words.line(task) for task in found.late]
        sent.append(len(statements))

    assert len(found.late) > 12
    assert sent[0] == sent[1]


def test_tasks_are_told_in_words(tasks: Tasks, lot: Lot) -> None:
    found = tasks()

    assert words.line(found[f"withdraw-l{lot.id}"]) == (
        f"Take seed from the store · Fraxinus angustifolia · 960 seeds · 70 g · {lot.code}"
    )
    assert words.title(found["cold-stratify"]) == "Move into cold stratification"
    assert words.title(found["check-cold-stratify-1"]) == "Look at seed in cold stratification"
    assert (
        words.line(found["count-emerged"])
        == f"Count what has come up · Fraxinus angustifolia · 12 trays · {lot.code}"
    )
    assert words.purpose(found["thin"]) == "for Azenha bank, 2027/28"


def test_how_it_is_done_is_the_protocol_s_own_words_with_cautions(
    session: Session, tasks: Tasks, lot: Lot
) -> None:
    found = tasks()
    told = instructions(session, list(found.values()))

    assert told[found["cold-stratify"].id].temperature_c == 4
    assert any("Phytophthora" in text for text in told[found["thin"].id].cautions)
    assert any("ash dieback" in text for text in told[found["dispatch"].id].cautions)
    assert told[found[f"withdraw-l{lot.id}"].id].temperature_c is None


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"when": "late"}, {"withdraw", "soak", "stratify"}),
        ({"when": "today"}, {"check"}),
        ({"when": "over"}, {"check"}),
        ({"job": "thin"}, {"thin"}),
    ],
)
def test_the_list_of_all_tasks_is_filtered(
    session: Session, tasks: Tasks, asked: dict[str, str], found: set[str]
) -> None:
    finish_task(
        session, ANA, task=tasks()["check-cold-stratify-1"], done_on=day("2026-12-17"), today=day("2026-12-17")
    )

    page = read_page(session, listing_of(day("2026-12-31")), ListQuery(filters=asked))

    assert sorted(row.job.value for row in page.rows) == sorted(found)


def test_a_filter_that_makes_no_sense_filters_nothing(session: Session, tasks: Tasks) -> None:
    page = read_page(session, listing_of(day("2026-12-31")), ListQuery(filters={"job": "juggle"}))

    assert len(page.rows) == len(tasks())
