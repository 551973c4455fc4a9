"""Plants of another kind, plants of other crops and plants missing on the way, told for what they are."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Planting, ReturnedPlants, WorkTime
from nursery.models.batches import PlantMovementKind as Kind
from nursery.planning.growing.words import Cause
from nursery.planning.work.words import Job
from nursery.services.costing.costs import By, read_costs
from nursery.services.season_report import gather_figures, show
from nursery.services.season_report.pictures import planted
from tests.services.season_report.conftest import SEASON, WHO, Season, move
from tests.services.season_report.test_figures import rows, total

DAY = dt.date(2025, 12, 14)
BYS: tuple[By, ...] = ("species", "site")


def plant(session: Session, maker: Any, season: Season, plants: int) -> None:
    """Alders that nobody asked for and that no batch gave, at the slope that lacks 20 oaks."""
    lot = maker.lot(population=maker.population(species=maker.species("alnus-glutinosa")))
    session.add(Planting(site_id=season.slope.id, lot_id=lot.id, planted_on=DAY, plants=plants))
    session.flush()


def test_too_many_of_one_species_make_up_for_nothing_of_another(
    session: Session, season: Season, maker: Any, today: dt.date
) -> None:
    plant(session, maker, season, 500)
    found = gather_figures(session, season=SEASON, today=today)
    slope = next(row for row in rows(found, "plants_by_site") if row["site"] == season.slope.name)
    assert (slope["planted"], slope["wanted"], slope["reached"]) == (560, 80, 0.75)
    # 108 of 120 and 60 of 80 oaks, 90 of 90 willows.
    for key in ("plants_by_site", "plants_by_species"):
        assert total(found, key)["reached"] == float(f"{258 / 290:.15g}")
    assert found["facts"]["reached"] == total(found, "plants_by_species")["reached"]
    (chart,) = planted(found)
    assert "258 of 290" in chart.title


def test_plants_of_other_crops_bear_nothing_of_what_the_crop_cost(
    session: Session, season: Season, maker: Any, today: dt.date
) -> None:
    before = gather_figures(session, season=SEASON, today=today)
    plant(session, maker, season, 500)
    after = gather_figures(session, season=SEASON, today=today)
    for key in ("costs_by_species", "costs_by_site"):
        assert total(after, key) == total(before, key)
    assert after["facts"]["each_planted"] == before["facts"]["each_planted"]


def test_without_a_planting_from_the_batches_no_cost_of_a_plant_planted_is_told(
    session: Session, season: Season, maker: Any, today: dt.date
) -> None:
    for one in session.scalars(select(Planting)):
        one.batch_id = None
    session.flush()
    found = gather_figures(session, season=SEASON, today=today)
    assert found["facts"]["each_planted"] is None
    assert found["facts"]["planted"] == 258


def test_what_is_missing_on_the_way_was_grown_and_sent(session: Session, season: Season, today: dt.date) -> None:
    before = gather_figures(session, season=SEASON, today=today)
    missing = session.scalars(select(ReturnedPlants)).one()
    missing.act = "missing-2"
    oaks = season.oaks
    on = {"site_id": season.bank.id, "target_id": oaks.target_id}
    move(session, oaks, 2, Kind.RETURNED, dt.date(2025, 11, 10), act=missing.act, **on)
    move(session, oaks, -2, Kind.LOST, dt.date(2025, 11, 10), cause=Cause.HANDLING)
    after = gather_figures(session, season=SEASON, today=today)
    for key in ("plants_by_species", "plants_by_site"):
        was, now = total(before, key), total(after, key)
        assert (was["missing"], now["missing"]) == (0, 2)
        assert (now["grown"], now["sent"], now["received"]) == (was["grown"], was["sent"], was["received"])
    by_funder = rows(after, "costs_by_funder")
    assert sum(row["sent"] for row in by_funder) == total(after, "costs_by_funder")["sent"]
    assert total(after, "costs_by_funder")["sent"] == total(after, "plants_by_species")["sent"]
    # They are among the losses, and are not counted twice where losses are held against plants.
    oak = next(row for row in rows(after, "losses_by_species") if row["species"] == "Quercus suber")
    assert (oak["lost"], oak["grown"]) == (62, 198)
    labels = [[one.label for one in table.columns] for table in show(after, language="en").tables]
    assert any("Missing" in one for one in labels)


def test_costs_and_report_count_the_same_plants_grown_and_sent(
    session: Session, season: Season, today: dt.date
) -> None:
    was = {by: grown_by(session, by) for by in BYS}
    costs = read_costs(session, by="species", season=SEASON)
    before = next(row for row in costs.rows if row.label == "Quercus suber").actual.plants
    missing = session.scalars(select(ReturnedPlants)).one()
    missing.act = "missing-2"
    on = {"site_id": season.bank.id, "target_id": season.oaks.target_id}
    move(session, season.oaks, 2, Kind.RETURNED, dt.date(2025, 11, 10), act=missing.act, **on)
    move(session, season.oaks, -2, Kind.LOST, dt.date(2025, 11, 10), cause=Cause.HANDLING)
    figures = gather_figures(session, season=SEASON, today=today)

    for by in BYS:
        now = grown_by(session, by)
        assert {row[by]: row["grown"] for row in rows(figures, f"costs_by_{by}")} == now == was[by]
        assert {row[by]: row["grown"] for row in rows(figures, f"plants_by_{by}") if row["grown"]} == now
    costs = read_costs(session, by="species", season=SEASON)
    assert costs.total.actual.plants.planted == total(figures, "plants_by_species")["sent"]
    # They went out, and none of them lives.
    oaks = next(row for row in costs.rows if row.label == "Quercus suber").actual.plants
    assert oaks.planted == before.planted == 170
    assert oaks.surviving == pytest.approx(before.surviving * 168 / 170)


def grown_by(session: Session, by: By) -> dict[str, float]:
    """Plants grown as the page of costs has them."""
    found = read_costs(session, by=by, season=SEASON).rows
    told = [("" if row.id is None else row.label, row.actual.plants.grown) for row in found]
    return {label: plants for label, plants in told if plants}


def test_hours_shown_add_up(session: Session, season: Season, today: dt.date) -> None:
    for job, hours in ((Job.SOW, 2.05), (Job.COUNT, 3.95), (Job.GRADE, 1.115), (Job.GRADE, 0.1)):
        session.add(WorkTime(worked_on=DAY, job=job, hours=hours, person=WHO))
    session.flush()
    figures = gather_figures(session, season=SEASON, today=today)
    table = next(one for one in show(figures, language="en").tables if one.key == "hours")
    assert table.total is not None
    for at, column in enumerate(table.columns[1:], start=1):
        texts = [float(row[at].text) for row in table.rows]
        assert round(sum(texts), 2) == float(table.total[at].text), column.label
    for row in [*table.rows, table.total]:
        assert round(float(row[1].text) + float(row[2].text), 2) == float(row[3].text)
    assert "2.05" in [row[1].text for row in table.rows]
