"""What was planted is counted after one, three and five years: asked for from the day it is written down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, Planting, Site, Task
from nursery.planning.work.words import Job, TaskStatus
from nursery.services import importing
from nursery.services.plantings import archive_planting, change_planting, create_planting, restore_planting
from nursery.services.work.syncing import sync_tasks

ANA = "Ana Seabra"


@pytest.fixture
def site(maker: Any) -> Site:
    return maker.site(code="S-007")


@pytest.fixture
def wood(maker: Any) -> Lot:
    return maker.lot(code="Q/7", collected_on=dt.date(2025, 10, 1))


def plant(session: Session, site: Site, lot: Lot, today: dt.date, day: dt.date, **values: Any) -> Planting:
    given = {"site_id": site.id, "lot_id": lot.id, "planted_on": day, "plants": 400, **values}
    return create_planting(session, ANA, values=given, today=today)


def asked(session: Session, site: Site) -> list[tuple[int, str, float]]:
    """Year, day and plants of the surveys that wait at a site."""
    waiting = select(Task).where(Task.job == Job.SURVEY, Task.site_id == site.id, Task.status == TaskStatus.OPEN)
    rows = session.scalars(waiting.order_by(Task.due_on)).all()
    return [(row.details["year"], row.due_on.isoformat(), row.amount or 0.0) for row in rows]


def test_a_planting_asks_for_its_surveys_as_soon_as_it_is_written_down(
    session: Session, site: Site, wood: Lot, today: dt.date
) -> None:
    plant(session, site, wood, today, dt.date(2026, 11, 20))

    assert asked(session, site) == [(1, "2027-11-20", 400.0), (3, "2029-11-19", 400.0), (5, "2031-11-19", 400.0)]
    assert not sync_tasks(session, ANA, today=today).any


def test_the_surveys_follow_a_corrected_day_and_number_and_another_site(
    session: Session, site: Site, wood: Lot, today: dt.date, maker: Any
) -> None:
    row = plant(session, site, wood, today, dt.date(2026, 11, 20))
    other = maker.site(code="S-008")

    change_planting(session, ANA, row=row, values={"planted_on": dt.date(2026, 11, 10), "plants": 90}, today=today)
    assert asked(session, site) == [(1, "2027-11-10", 90.0), (3, "2029-11-09", 90.0), (5, "2031-11-09", 90.0)]

    change_planting(session, ANA, row=row, values={"site_id": other.id}, today=today)
    assert (asked(session, site), len(asked(session, other))) == ([], 3)


def test_they_go_with_an_archived_planting_and_come_back_with_it(
    session: Session, site: Site, wood: Lot, today: dt.date
) -> None:
    first = plant(session, site, wood, today, dt.date(2026, 11, 10))
    second = plant(session, site, wood, today, dt.date(2026, 11, 20), plants=50)

    archive_planting(session, ANA, row=second, today=today)
    assert asked(session, site)[0] == (1, "2027-11-10", 400.0)

    archive_planting(session, ANA, row=first, today=today)
    assert asked(session, site) == []

    restore_planting(session, ANA, row=second, today=today)
    assert asked(session, site)[0] == (1, "2027-11-20", 50.0)


def test_replacements_ask_for_no_survey_of_their_own(
    session: Session, site: Site, wood: Lot, today: dt.date
) -> None:
    plant(session, site, wood, today, dt.date(2026, 11, 20), is_replacement=True)

    assert asked(session, site) == []


def test_where_the_planting_goes_what_the_plan_asks_for_stands_again_behind_its_load(
    session: Session, tasks: Callable[[], dict[str, Task]], wood: Lot
) -> None:
    load = tasks()["dispatch"]
    site = session.get_one(Site, load.site_id)
    planned, later = asked(session, site), dt.date(2028, 1, 10)

    row = plant(session, site, wood, later, dt.date(2027, 12, 20), plants=120)
    assert asked(session, site)[0] == (1, "2028-12-19", 120.0)

    archive_planting(session, ANA, row=row, today=later)
    first = session.scalars(select(Task).where(Task.job == Job.SURVEY).order_by(Task.due_on)).first()
    assert asked(session, site) == planned
    assert first is not None
    assert first.after_id == load.id
    assert session.get_one(Task, load.id).status is TaskStatus.OPEN


def test_plantings_of_a_file_ask_for_their_surveys_too(
    session: Session, site: Site, wood: Lot, today: dt.date
) -> None:
    file = b"site,lot,planted on,plants\nS-007,Q/7,2026-11-20,120\n"
    upload = importing.keep_upload(session, ANA, kind="plantings", file_name="file.csv", content=file)

    importing.confirm(session, ANA, upload_id=upload.id, today=today)

    assert [year for year, _day, plants in asked(session, site) if plants == 120.0] == [1, 3, 5]
