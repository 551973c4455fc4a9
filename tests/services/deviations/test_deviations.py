"""Deviations are written down with what was done; suggestions come from the records and write nothing."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Change, Deviation
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Cause
from nursery.services.deviations import change_deviation, create_deviation, suggest
from nursery.services.season_report import gather_figures
from tests.services.season_report.conftest import SEASON, Season, move, season

__all__ = ["season"]
VALUES = {
    "season": SEASON, "site_id": None, "happened_on": dt.date(2026, 1, 8), "what": "A load froze",
    "why": "An open trailer", "action": "", "notes": "",
}  # fmt: skip


def test_a_deviation_is_written_down_and_what_was_done_is_added_later(session: Session, today: dt.date) -> None:
    row = create_deviation(session, "Ana Seabra", values=VALUES, today=today)
    change_deviation(session, "Rui", row=row, values={"action": "A tarpaulin was bought"}, version=row.version,
                     today=today)  # fmt: skip
    figures = gather_figures(session, season=SEASON, today=today)
    assert figures["tables"]["deviations"]["rows"] == [
        ["2026-01-08", "", "A load froze", "An open trailer", "A tarpaulin was bought"]
    ]
    assert session.scalars(select(Change.person).where(Change.subject == "deviations")).all() == [
        "Ana Seabra", "Rui",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("happened_on", dt.date(2027, 1, 1), "still to come"),
        ("happened_on", dt.date(1980, 1, 1), "too long ago"),
        ("season", 1980, "1980"),
        ("what", "x" * 1001, "1000 letters"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    session: Session, today: dt.date, field: str, value: Any, told: str
) -> None:
    with pytest.raises(Invalid) as refused:
        create_deviation(session, "Ana Seabra", values={**VALUES, field: value}, today=today)
    assert told in refused.value.errors[field]


def test_an_archived_deviation_is_on_no_report(session: Session, today: dt.date) -> None:
    row = create_deviation(session, "Ana Seabra", values=VALUES, today=today)
    row.archived_at = dt.datetime(2026, 2, 1, tzinfo=dt.UTC)
    session.flush()
    assert gather_figures(session, season=SEASON, today=today)["tables"]["deviations"]["rows"] == []


def test_the_records_suggest_targets_missed_loads_short_and_overrides(
    session: Session, season: Season, today: dt.date
) -> None:
    found = {one.kind: one for one in suggest(session, season=SEASON, today=today)}
    assert set(found) == {"target", "load", "override"}
    assert found["target"].what == "Quercus suber: 60 planted of 80 wanted (75 %)"
    assert found["target"].site_id == season.slope.id
    assert found["load"].what == "Load L-1: 2 plants missing when it was taken over"
    assert found["override"].why == "No seed of the region in this mast year"
    assert session.scalar(select(func.count()).select_from(Deviation)) == 1


def test_a_target_missed_by_a_tenth_or_less_is_no_deviation(
    session: Session, season: Season, today: dt.date
) -> None:
    # 108 of 120 oaks on the bank are a tenth short, not more.
    sites = {one.site_id for one in suggest(session, season=SEASON, today=today) if one.kind == "target"}
    assert sites == {season.slope.id}


def test_a_batch_of_which_half_died_is_suggested_with_its_causes(
    session: Session, season: Season, today: dt.date
) -> None:
    move(session, season.willows, 100, PlantMovementKind.COUNTED, dt.date(2025, 8, 1))
    move(session, season.willows, -100, PlantMovementKind.LOST, dt.date(2025, 9, 1), cause=Cause.FROST)
    (lost,) = [one for one in suggest(session, season=SEASON, today=today) if one.kind == "batch"]
    assert "130 of 230 plants lost" in lost.what
    assert lost.why == "Frost: 100; Disease: 30"
    assert lost.day == dt.date(2025, 9, 1)


def test_what_is_in_the_log_already_is_suggested_no_more(session: Session, season: Season, today: dt.date) -> None:
    before = suggest(session, season=SEASON, today=today)
    one = before[0]
    create_deviation(
        session, "Ana Seabra", values={**VALUES, "what": one.what, "site_id": one.site_id}, today=today
    )
    assert [left.what for left in suggest(session, season=SEASON, today=today)] == [
        left.what for left in before[1:]
    ]


@pytest.mark.usefixtures("season")
def test_a_season_under_way_has_no_missed_target_yet(session: Session) -> None:
    found = suggest(session, season=SEASON, today=dt.date(2026, 1, 15))
    assert "target" not in {one.kind for one in found}


@pytest.mark.usefixtures("season")
def test_a_target_missed_can_be_written_down_in_the_spring_after(session: Session) -> None:
    spring = dt.date(2026, 4, 10)
    (missed,) = [one for one in suggest(session, season=SEASON, today=spring) if one.kind == "target"]
    assert missed.day == spring
    values = {**VALUES, "what": missed.what, "happened_on": missed.day, "site_id": missed.site_id}
    assert create_deviation(session, "Ana Seabra", values=values, today=spring).id
