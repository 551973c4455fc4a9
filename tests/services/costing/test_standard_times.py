"""Standard times on record: own figures first."""

from __future__ import annotations

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Change
from nursery.planning.work.times import OWN, WORKING_TIMES, StandardTime
from nursery.planning.work.words import Job, Unit
from nursery.services.costing.standard_times import drop_standard_time, set_standard_time, standard_times


def test_without_own_figures_the_working_ones_count(session: Session) -> None:
    assert standard_times(session) == WORKING_TIMES


def test_an_own_figure_takes_the_place_of_the_working_one(session: Session) -> None:
    set_standard_time(session, "Rui", job=Job.SOW, hours_per_1000=3.25, reason="timed in March")
    times = standard_times(session)
    assert times[Job.SOW] == StandardTime(3.25, Unit.CELLS, OWN)
    assert times[Job.GRADE] == WORKING_TIMES[Job.GRADE]


def test_changing_it_keeps_who_and_why_and_the_same_twice_is_noted_once(session: Session) -> None:
    set_standard_time(session, "Rui", job=Job.SOW, hours_per_1000=3.25, reason="timed in March")
    for _again in range(2):
        row = set_standard_time(session, "Ana", job=Job.SOW, hours_per_1000=3.0, reason="timed in April")
    assert (row.person, row.reason) == ("Ana", "timed in April")
    assert session.scalars(select(Change.action)).all() == ["created", "changed"]


def test_dropped_it_goes_back_to_the_working_figure(session: Session) -> None:
    set_standard_time(session, "Rui", job=Job.SOW, hours_per_1000=3.25, reason="timed in March")
    drop_standard_time(session, "Ana", job=Job.SOW)
    drop_standard_time(session, "Ana", job=Job.SOW)
    assert standard_times(session) == WORKING_TIMES
    assert session.scalars(select(Change.action)).all() == ["created", "removed"]


@pytest.mark.parametrize(
    ("hours", "reason", "field"),
    [(-1.0, "timed", "hours_per_1000"), (99_999.0, "timed", "hours_per_1000"), (2.0, " ", "reason")],
)
def test_a_figure_that_cannot_be_or_without_a_reason_is_refused(
    session: Session, hours: float, reason: str, field: str
) -> None:
    with pytest.raises(Invalid) as refused:
        set_standard_time(session, "Rui", job=Job.SOW, hours_per_1000=hours, reason=reason)
    assert list(refused.value.errors) == [field]
