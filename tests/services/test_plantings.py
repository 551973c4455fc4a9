"""Plantings: who planted, how densely, from which load, and what was planted beyond what arrived."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Dispatch, DispatchLine, ReturnedPlants
from nursery.models.dispatches import DispatchStatus
from nursery.models.targets import TargetBasis
from nursery.services.planting_people import people_counted, refuse_hours
from nursery.services.plantings import (
    arrived,
    change_planting,
    create_planting,
    density_of,
    more_than_arrived,
    prefilled,
)

ANA = "Ana Seabra"
DAY = dt.date(2026, 11, 20)


@pytest.fixture
def lot(maker: Any) -> Any:
    return maker.lot(code="Q/7", collected_on=dt.date(2025, 10, 1))


@pytest.fixture
def line(session: Session, maker: Any, lot: Any) -> DispatchLine:
    """Eighty plants of a batch that arrived at a site two days ago."""
    batch = maker.batch(lot=lot, code="B26-001")
    site = maker.site(code="S-007", name="Azenha")
    load = Dispatch(
        code="D26-001", site_id=site.id, status=DispatchStatus.RECEIVED, planned_on=DAY, sent_on=DAY,
        received_on=DAY, received_by="Noa",
    )  # fmt: skip
    load.lines = [DispatchLine(position=1, batch_id=batch.id, plants=100, sent=90, received=80)]
    session.add(load)
    session.flush()
    return load.lines[0]


def plant(session: Session, maker: Any, lot: Any, today: dt.date, **values: Any) -> Any:
    site = values.pop("site", None) or maker.site(area_ha=2.0)
    given = {"site_id": site.id, "lot_id": lot.id, "planted_on": DAY, "plants": 400, **values}
    return create_planting(session, ANA, values=given, today=today)


@pytest.mark.parametrize(
    ("people", "volunteers", "count"),
    [
        ("", None, 0), ("Inês", None, 1), ("Inês, Noa and Salma", 0, 3), ("Inês e Noa", None, 2),
        ("Ana y Eva; crew of 6", 4, 12), ("12 pupils", None, 12), ("", 9, 9),
    ],
)  # fmt: skip
def test_people_are_counted_as_they_are_written(people: str, volunteers: int | None, count: int) -> None:
    assert people_counted(people, volunteers) == count


@given(hours=st.floats(0.1, 2000), people=st.integers(1, 60))
def test_hours_are_refused_beyond_a_day_of_each(hours: float, people: int) -> None:
    refused = refuse_hours({"hours": hours, "people": f"crew of {people}", "volunteers": 0})

    assert bool(refused) == (hours > 24 * people)


def test_hours_that_cannot_be_are_refused_when_changed_too(
    session: Session, maker: Any, lot: Any, today: dt.date
) -> None:
    row = plant(session, maker, lot, today, people="Inês, Noa", hours=16.0, volunteers=0, area_m2=2000.0)

    with pytest.raises(Invalid, match="60 hours are more than 24 for each of 2 people"):
        change_planting(session, ANA, row=row, values={"hours": 60.0}, today=today)
    assert (row.people, row.volunteers, row.area_m2, row.is_replacement) == ("Inês, Noa", 0, 2000.0, False)


@pytest.mark.parametrize(
    ("target", "wanted"),
    [
        ({"plants": 3000}, None),
        ({"density_per_ha": 4000, "share": 0.25, "basis": TargetBasis.DENSITY}, 1000.0),
        ({"plants": 900, "basis": TargetBasis.SURVIVORS, "survival_year": 1}, None),
        ({"plants": 3000, "season": 2027}, None),
    ],
)
def test_density_stands_beside_what_the_target_wants(
    session: Session, maker: Any, lot: Any, today: dt.date, target: dict[str, Any], wanted: float | None
) -> None:
    site = maker.site(area_ha=2.0)
    maker.target(site=site, **{"season": 2026, **target})
    row = plant(session, maker, lot, today, site=site, area_m2=4000.0)

    found = density_of(session, row)

    assert found
    assert (found.planted, found.wanted) == (1000.0, wanted)
    assert found.share == (1000.0 / wanted if wanted else None)
    row.area_m2 = None
    assert density_of(session, row) is None


def test_a_received_load_fills_the_form_and_waits_until_it_is_planted(
    session: Session, lot: Any, line: DispatchLine, today: dt.date
) -> None:
    (waiting,) = arrived(session)
    assert (waiting.dispatch_code, waiting.batch_code, waiting.left) == ("D26-001", "B26-001", 80)

    filled = prefilled(session, line.id)
    assert filled == {
        "site_id": line.dispatch.site_id, "batch_id": line.batch_id, "lot_id": lot.id, "planted_on": DAY,
        "plants": 80, "dispatch_line_id": line.id, "is_replacement": False,
    }  # fmt: skip
    row = create_planting(session, ANA, values=filled | {"plants": 60}, today=today)
    assert [one.left for one in arrived(session)] == [20]
    assert prefilled(session, line.id)["plants"] == 20
    assert more_than_arrived(session, row) is None

    create_planting(session, ANA, values=filled | {"plants": 20}, today=today)
    assert arrived(session, site_id=line.dispatch.site_id) == []
    session.add(ReturnedPlants(line_id=line.id, plants=15, returned_on=DAY, person=ANA))
    session.flush()
    more = more_than_arrived(session, row)
    assert more
    assert (more.planted, more.received) == (80, 75)


def test_no_more_of_a_load_is_planted_than_arrived_and_is_left(
    session: Session, line: DispatchLine, today: dt.date
) -> None:
    filled = prefilled(session, line.id)
    row = create_planting(session, ANA, values=filled | {"plants": 60}, today=today)

    with pytest.raises(Invalid) as refused:
        create_planting(session, ANA, values=filled | {"plants": 21}, today=today)
    assert refused.value.errors == {
        "plants": "Of load D26-001, 20 plants of B26-001 are left to be planted. Write down no more than that."
    }
    with pytest.raises(Invalid, match="80 plants of B26-001 are left"):
        change_planting(session, ANA, row=row, values={"plants": 81}, today=today)
    assert change_planting(session, ANA, row=row, values={"plants": 80}, today=today).plants == 80

    session.add(ReturnedPlants(line_id=line.id, plants=30, returned_on=DAY, person=ANA))
    session.flush()
    # Planted before some came back: the record may still be corrected, downwards or beside the number.
    assert change_planting(session, ANA, row=row, values={"people": "Noa"}, today=today).people == "Noa"
    without_load = filled | {"plants": 500, "dispatch_line_id": None}
    assert create_planting(session, ANA, values=without_load, today=today).plants == 500


def test_plants_written_down_before_their_load_was_taken_over_are_not_asked_for_again(
    session: Session, line: DispatchLine, today: dt.date
) -> None:
    filled = prefilled(session, line.id)
    unnamed = filled | {"plants": 50, "dispatch_line_id": None}
    row = create_planting(session, ANA, values=unnamed, today=today)

    assert [one.left for one in arrived(session)] == [30]
    assert prefilled(session, line.id)["plants"] == 30
    with pytest.raises(Invalid, match="30 plants of B26-001 are left to be planted"):
        create_planting(session, ANA, values=filled | {"plants": 80}, today=today)

    # The load is named afterwards: the same plants, not others.
    change_planting(session, ANA, row=row, values={"dispatch_line_id": line.id}, today=today)
    assert [one.left for one in arrived(session)] == [30]


def test_plantings_without_a_load_fill_the_loads_of_their_batch_in_the_order_of_arrival(
    session: Session, line: DispatchLine, today: dt.date
) -> None:
    first = line.dispatch
    second = Dispatch(
        code="D26-002", site_id=first.site_id, status=DispatchStatus.RECEIVED, planned_on=DAY, sent_on=DAY,
        received_on=DAY + dt.timedelta(days=1), received_by="Noa",
    )  # fmt: skip
    second.lines = [DispatchLine(position=1, batch_id=line.batch_id, plants=40, sent=40, received=40)]
    session.add(second)
    session.flush()
    unnamed = prefilled(session, line.id) | {"plants": 95, "dispatch_line_id": None, "planted_on": today}
    create_planting(session, ANA, values=unnamed, today=today)

    assert [(one.dispatch_code, one.left) for one in arrived(session)] == [("D26-002", 25)]


def test_plants_that_came_back_are_not_waited_for(session: Session, line: DispatchLine) -> None:
    back = ReturnedPlants(line_id=line.id, plants=30, returned_on=DAY, person=ANA)
    session.add(back)
    session.flush()

    assert [one.left for one in arrived(session)] == [60]  # 90 went, 30 came back


def test_a_load_for_a_target_of_replacements_is_planted_as_replacements(
    session: Session, maker: Any, line: DispatchLine
) -> None:
    target = maker.target(site=line.dispatch.site, season=2026, plants=80, replacements=80)
    line.target_id = target.id
    session.flush()
    assert prefilled(session, line.id)["is_replacement"] is True

    target.plants = 200
    session.flush()
    assert prefilled(session, line.id)["is_replacement"] is False


@pytest.mark.parametrize(
    ("values", "name", "told"),
    [
        ({"planted_on": DAY - dt.timedelta(days=1)}, "planted_on", "19 Nov 2026 is before load D26-001 arrived"),
        ({"site_id": None}, "dispatch_line_id", "Load D26-001 brought B26-001 to Azenha."),
        ({"dispatch_line_id": 999}, "dispatch_line_id", "This load has not arrived."),
    ],
)
def test_a_planting_that_does_not_fit_its_load_is_refused(
    session: Session, maker: Any, line: DispatchLine, today: dt.date, values: dict[str, Any], name: str, told: str
) -> None:
    given = prefilled(session, line.id) | values
    given["site_id"] = given["site_id"] or maker.site().id

    with pytest.raises(Invalid) as refused:
        create_planting(session, ANA, values=given, today=today)

    assert refused.value.errors[name].startswith(told)


def test_a_load_on_its_way_fills_nothing(session: Session, line: DispatchLine) -> None:
    load = line.dispatch
    load.status, load.received_on, load.received_by, line.received = DispatchStatus.SENT, None, "", None
    session.flush()

    assert prefilled(session, line.id) == {}
    assert arrived(session) == []
