"""Surveys: written whole or refused by field, withdrawn with a reason, and what they teach."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Change, Evidence, Survey, Task
from nursery.planning.work.words import TaskStatus
from nursery.services.learned.batches import read_batches
from nursery.services.surveys.checking import Counted
from nursery.services.surveys.survival import survival
from nursery.services.surveys.writing import record_survey, withdraw_survey
from nursery.services.work.syncing import sync_tasks
from tests.services.surveys.conftest import ANA, Field


def test_a_survey_is_kept_as_counted(session: Session, field: Field) -> None:
    survey = field.survey((field.oak, 30, 24), causes={"drought": 4, "browsing": 1, "fire": 0}, replacements=2)

    (count,) = survey.counts
    assert (count.planted, count.alive, count.replacements_alive, count.lot_id) == (30, 24, 2, field.oaks.id)
    assert count.causes == {"drought": 4, "browsing": 1}
    assert (survey.person, survey.season, survey.year) == (ANA, 2025, 1)
    assert session.scalars(select(Change.action).where(Change.subject == "surveys")).all() == ["surveyed"]


def test_species_that_nobody_counted_are_left_out(session: Session, field: Field, today: dt.date) -> None:
    survey = record_survey(
        session, ANA, plot=field.plots[0], today=today, values={"season": 2025, "year": 1, "surveyed_on": today},
        counts=[Counted(field.oak.id, 30, 24), Counted(field.ash.id, None, None, at=1)],
    )  # fmt: skip

    assert [count.species_id for count in survey.counts] == [field.oak.id]


@pytest.mark.parametrize(
    ("count", "field_name", "told"),
    [
        ({"alive": 31}, "alive", "31 alive of 30 planted cannot be."),
        ({"alive": None}, "alive", "Say how many live; 0 where none do."),
        ({"planted": None}, "planted", "Say how many were planted first in this plot"),
        ({"planted": 0, "alive": 0}, "planted", "Say how many were planted first in this plot"),
        ({"causes": {"drought": 4, "frost": 3}}, "causes", "Causes are given for 7 plants and 6 died."),
        ({"replacements_alive": -1}, "replacements_alive", "-1 is out of range."),
        ({"species_id": None}, "species_id", "Say which species."),
    ],
)
def test_a_count_that_cannot_be_is_refused_at_its_row(
    session: Session, field: Field, today: dt.date, count: dict[str, Any], field_name: str, told: str
) -> None:
    given = {"species_id": field.oak.id, "planted": 30, "alive": 24, "at": 3, **count}

    with pytest.raises(Invalid) as refused:
        record_survey(
            session, ANA, plot=field.plots[0], today=today,
            values={"season": 2025, "year": 1, "surveyed_on": today}, counts=[Counted(**given)],
        )  # fmt: skip

    assert refused.value.errors[f"counts-3-{field_name}"].startswith(told)
    assert session.scalars(select(Survey)).all() == []


@pytest.mark.parametrize(
    ("values", "name", "told"),
    [
        ({"surveyed_on": dt.date(2026, 11, 26)}, "surveyed_on", "26 Nov 2026 is still to come."),
        (
            {"surveyed_on": dt.date(2025, 11, 19)},
            "surveyed_on",
            "19 Nov 2025 is before the planting of 2025/26, which began on 20 Nov 2025.",
        ),
        ({"season": 2026}, "surveyed_on", None),
        ({"season": 2027}, "surveyed_on", "25 Nov 2026 is before the planting of 2027/28"),
        ({"year": 0}, "year", "0 is out of range."),
        ({"year": 21}, "year", "21 is out of range."),
        ({"season": 1800}, "season", "The year 1800 is out of range."),
    ],
)
def test_a_season_a_year_or_a_day_that_cannot_be_is_refused(
    session: Session, field: Field, today: dt.date, values: dict[str, Any], name: str, told: str | None
) -> None:
    given = {"season": 2025, "year": 1, "surveyed_on": today, **values}
    counts = [Counted(field.oak.id, 30, 24)]
    if told is None:
        assert record_survey(session, ANA, plot=field.plots[0], today=today, values=given, counts=counts).id
        return

    with pytest.raises(Invalid) as refused:
        record_survey(session, ANA, plot=field.plots[0], today=today, values=given, counts=counts)

    assert refused.value.errors[name].startswith(told)


def test_a_plot_is_counted_once_a_year_and_a_species_once(session: Session, field: Field) -> None:
    field.survey((field.oak, 30, 24))
    with pytest.raises(Invalid, match=r"Plot A was counted for year 1 of 2025/26 on 25 Nov 2026\. Withdraw"):
        field.survey((field.oak, 30, 25))
    with pytest.raises(Invalid, match="counted twice"):
        field.survey((field.oak, 30, 24), (field.oak, 20, 20), plot=1)

    field.survey((field.oak, 30, 24), plot=1)
    field.survey((field.oak, 30, 22), year=2)
    assert len(session.scalars(select(Survey)).all()) == 3


def test_year_one_and_three_teach_survival_and_other_years_nothing(session: Session, field: Field) -> None:
    field.survey((field.oak, 30, 24), (field.ash, 20, 5))
    field.survey((field.oak, 30, 20), year=3)
    field.survey((field.oak, 30, 19), year=5)

    taught = session.execute(select(Evidence.species_id, Evidence.rate, Evidence.successes, Evidence.trials))
    assert sorted(map(tuple, taught)) == sorted(
        [
            (field.oak.id, "field_survival_1", 24.0, 30.0),
            (field.ash.id, "field_survival_1", 5.0, 20.0),
            (field.oak.id, "field_survival_3", 20.0, 30.0),
        ]
    )
    assert {one.rate for one in read_batches(session)[field.oak.id]} == {"field_survival_1", "field_survival_3"}


def test_plants_from_cuttings_teach_the_rate_of_cuttings_and_mixed_ones_nothing(
    session: Session, field: Field, maker: Any
) -> None:
    willow = maker.species("salix-salviifolia")
    cuttings = maker.lot(
        population=maker.population(species=willow), material="cuttings", pieces=900,
        collected_on=dt.date(2025, 1, 10), ripening_year=2025,
    )  # fmt: skip
    field.plant(cuttings, 200)
    field.survey((willow, 30, 24))
    assert session.scalars(select(Evidence.part)).all() == ["cuttings"]

    seed = maker.lot(
        population=maker.population(species=willow), collected_on=dt.date(2025, 5, 1), ripening_year=2025
    )
    field.plant(seed, 100)
    field.survey((willow, 30, 24), plot=1)
    assert session.scalars(select(Evidence.part)).all() == ["cuttings"]


def test_withdrawing_needs_a_reason_forgets_and_lets_the_plot_be_counted_anew(
    session: Session, field: Field, today: dt.date
) -> None:
    survey = field.survey((field.oak, 30, 24))
    with pytest.raises(Invalid, match="Say why"):
        withdraw_survey(session, ANA, survey=survey, reason=" ", today=today)

    withdraw_survey(session, ANA, survey=survey, reason="Wrong plot", today=today)

    assert survival(session) == []
    assert read_batches(session) == {}
    (evidence,) = session.scalars(select(Evidence))
    assert (evidence.withdrawn_by, evidence.withdrawn_reason) == (ANA, "Wrong plot")
    with pytest.raises(Conflict):
        withdraw_survey(session, ANA, survey=survey, reason="Again", today=today)
    field.survey((field.oak, 30, 26))
    assert [(row.planted, row.alive) for row in survival(session)] == [(30, 26)]


def test_the_survey_task_of_a_planting_is_done_by_a_survey_and_opened_by_its_withdrawal(
    session: Session, field: Field, today: dt.date
) -> None:
    sync_tasks(session, ANA, today=today)
    tasks = {task.key: task for task in session.scalars(select(Task).where(Task.job == "survey"))}
    key = f"survey-s{field.site.id}-2025"
    assert {name: f"{task.due_on}" for name, task in tasks.items()} == {
        key: "2026-11-20", f"{key}-y3": "2028-11-19", f"{key}-y5": "2030-11-19",
    }  # fmt: skip
    assert tasks[key].details["names"] == ["Fraxinus angustifolia", "Quercus suber"]

    survey = field.survey((field.oak, 30, 24))
    assert (tasks[key].status, tasks[key].done_on) == (TaskStatus.DONE, today)
    assert tasks[f"{key}-y3"].status is TaskStatus.OPEN
    sync_tasks(session, ANA, today=today)
    assert tasks[key].status is TaskStatus.DONE

    withdraw_survey(session, ANA, survey=survey, reason="Wrong plot", today=today)
    assert (tasks[key].status, tasks[key].done_on) == (TaskStatus.OPEN, None)


def test_a_survey_that_was_never_made_gives_way_to_the_next(session: Session, field: Field) -> None:
    later = dt.date(2029, 1, 10)
    sync_tasks(session, ANA, today=later)

    due = session.scalars(select(Task.key).where(Task.job == "survey").order_by(Task.key)).all()
    assert due == [f"survey-s{field.site.id}-2025-y3", f"survey-s{field.site.id}-2025-y5"]


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    counts=st.lists(
        st.tuples(st.integers(1, 200), st.floats(0, 1), st.floats(0, 1), st.integers(0, 50)),
        min_size=1,
        max_size=2,
    )
)
def test_survivors_and_dead_are_all_that_were_planted_and_replacements_stand_apart(
    session: Session, field: Field, today: dt.date, counts: list[tuple[int, float, float, int]]
) -> None:
    with session.begin_nested() as undone:
        for plot, (planted, part, seen, replacements) in enumerate(counts):
            alive = round(planted * part)
            dead = round((planted - alive) * seen)
            field.survey(
                (field.oak, planted, alive), plot=plot, causes={"drought": dead} if dead else {},
                replacements=replacements,
            )  # fmt: skip

        (row,) = survival(session)
        undone.rollback()

    assert row.alive + row.dead == row.planted == sum(one[0] for one in counts)
    assert sum(row.causes.values()) == row.dead
    assert row.alive == sum(round(one[0] * one[1]) for one in counts)
    assert row.replacements == sum(one[3] for one in counts)
    assert row.rate == row.alive / row.planted
