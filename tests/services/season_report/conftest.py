"""A finished season with something of everything, small enough to be reckoned by hand."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import (
    Bag,
    Batch,
    Count,
    Decision,
    Deviation,
    Dispatch,
    DispatchLine,
    Expense,
    Person,
    Planting,
    PlantMovement,
    ReturnedPlants,
    Site,
    Survey,
    SurveyCount,
    SurveyPlot,
    WorkTime,
)
from nursery.models.batches import PlantMovementKind as Kind
from nursery.models.decisions import DecisionKind
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.work.words import Job
from nursery.services.preferences import read_preferences

SEASON = 2025
WHO = "Ana Seabra"


@dataclass
class Season:
    """Records that tests look at again."""

    bank: Site
    slope: Site
    oaks: Batch
    willows: Batch


def move(session: Session, batch: Batch, change: int, kind: Kind, day: dt.date, **more: Any) -> None:
    """A row of the plant ledger, and what is alive after it."""
    batch.alive += change
    session.add(
        PlantMovement(
            batch_id=batch.id, kind=kind, change=change, happened_on=day, person=WHO,
            act=more.pop("act", f"{batch.code}-{day}-{kind}-{change}"[:32]), **more,
        )
    )  # fmt: skip
    session.flush()


@pytest.fixture
def season(session: Session, maker: Any) -> Season:
    """200 oaks wanted at two sites, 90 willows at one; what became of them."""
    oak, willow = maker.species("quercus-suber"), maker.species("salix-atrocinerea")
    bank, slope = maker.site(region_code="R1"), maker.site(region_code="R2")
    at_bank = maker.target(site=bank, species=oak, season=SEASON, plants=120, funder="River fund")
    at_slope = maker.target(site=slope, species=oak, season=SEASON, plants=80)
    of_willow = maker.target(site=bank, species=willow, season=SEASON, plants=90, funder="River fund")
    home = maker.population(species=oak, region_code="R1")
    acorns = maker.lot(population=home, collected_on=dt.date(2025, 10, 5), ripening_year=2025, mother_plants=12)
    rods = maker.lot(
        population=maker.population(species=willow), pieces=300, collected_on=dt.date(2024, 12, 1),
        ripening_year=2024, material="cuttings", permit_number="EX 1",
    )  # fmt: skip
    for tag, weight in (("T1", 300_000), ("T2", 100_000)):
        session.add(Bag(lot_id=acorns.id, tag=tag, weight_mg=weight))
    sown = dt.date(2025, 3, 1)
    oaks = maker.batch(
        lot=acorns, target_id=at_bank.id, sown_on=sown, seeds=400, viability=0.9, ready_on=dt.date(2025, 11, 1)
    )
    willows = maker.batch(lot=rods, target_id=of_willow.id, sown_on=sown, seeds=150, ready_on=dt.date(2025, 11, 1))
    _grow(session, oaks, willows, bank, slope, at_bank.id, at_slope.id, of_willow.id)
    _plant(session, oaks, willows, bank, slope)
    _survey(session, bank, oak.id, willow.id)
    _tell(session, bank, slope, acorns.id, oaks)
    session.commit()
    return Season(bank, slope, oaks, willows)


def _grow(
    session: Session, oaks: Batch, willows: Batch, bank: Site, slope: Site, to_bank: int, to_slope: int, osier: int
) -> None:
    count = {"trays": 10, "low": 260, "high": 260, "person": WHO}
    session.add(
        Count(
            batch_id=oaks.id, stage=Stage.EMERGED, counted_on=dt.date(2025, 5, 1), plants=260, before=400, **count
        )
    )  # fmt: skip
    move(session, oaks, 260, Kind.COUNTED, dt.date(2025, 5, 1))
    move(session, oaks, -40, Kind.LOST, dt.date(2025, 6, 1), cause=Cause.DROUGHT)
    move(session, oaks, -20, Kind.LOST, dt.date(2025, 10, 1), cause=Cause.GRADED_OUT)
    move(session, oaks, -110, Kind.DISPATCHED, dt.date(2025, 11, 10), site_id=bank.id, target_id=to_bank)
    move(session, oaks, -60, Kind.DISPATCHED, dt.date(2025, 11, 20), site_id=slope.id, target_id=to_slope)
    move(session, willows, 130, Kind.COUNTED, dt.date(2025, 5, 1))
    move(session, willows, -30, Kind.LOST, dt.date(2025, 7, 1), cause=Cause.DISEASE)
    move(session, willows, -100, Kind.DISPATCHED, dt.date(2025, 12, 1), site_id=bank.id, target_id=osier)
    load = Dispatch(
        code="L-1", site_id=bank.id, status=DispatchStatus.RECEIVED, planned_on=dt.date(2025, 11, 10),
        sent_on=dt.date(2025, 11, 10), received_on=dt.date(2025, 11, 10), received_by="Rui", driver="Rui",
    )  # fmt: skip
    session.add(load)
    session.flush()
    line = DispatchLine(
        dispatch_id=load.id, position=1, batch_id=oaks.id, target_id=to_bank, plants=110, sent=110, received=108
    )
    session.add(line)
    session.flush()
    missing = {"decision": ReturnDecision.DISCARDED, "decided_by": WHO, "decided_reason": "Never found"}
    session.add(
        ReturnedPlants(
            line_id=line.id, plants=2, is_missing=True, returned_on=load.sent_on, person=WHO,
            decided_on=load.sent_on, **missing,
        )
    )  # fmt: skip


def _plant(session: Session, oaks: Batch, willows: Batch, bank: Site, slope: Site) -> None:
    for site, batch, day, plants, more in (
        (bank, oaks, 12, 108, {"hours": 20.0, "volunteers": 6, "people": "Crew", "area_m2": 1200.0}),
        (slope, oaks, 22, 60, {"hours": 11.5, "volunteers": 3, "people": "Crew"}),
        (bank, willows, 12, 90, {"hours": 8.0, "volunteers": 6, "people": "Crew; neighbours"}),
        (bank, willows, 12, 10, {"is_replacement": True}),
    ):
        session.add(
            Planting(
                site_id=site.id, lot_id=batch.lot_id, batch_id=batch.id, planted_on=dt.date(2025, 12, day),
                plants=plants, **more,
            )
        )  # fmt: skip


def _survey(session: Session, bank: Site, oak: int, willow: int) -> None:
    plot = SurveyPlot(site_id=bank.id, name="A")
    session.add(plot)
    session.flush()
    survey = Survey(plot_id=plot.id, season=SEASON, year=1, surveyed_on=dt.date(2026, 10, 1), person=WHO)
    session.add(survey)
    session.flush()
    for species_id, planted, alive, causes in ((oak, 40, 30, {"drought": 6}), (willow, 20, 19, {})):
        session.add(
            SurveyCount(
                survey_id=survey.id, species_id=species_id, planted=planted, alive=alive, causes=causes,
                replacements_alive=2,
            )
        )  # fmt: skip


def _tell(session: Session, bank: Site, slope: Site, acorns: int, oaks: Batch) -> None:
    day = dt.date(2025, 12, 20)
    volunteer = Person(name="Inês", is_volunteer=True, hours_per_week=6)
    session.add(volunteer)
    session.flush()
    session.add_all(
        [
            WorkTime(worked_on=day, job=Job.DISPATCH, hours=7.5, person=WHO, batch_id=oaks.id),
            WorkTime(worked_on=day, job=Job.DISPATCH, hours=2.5, person=WHO, worker_id=volunteer.id),
            Expense(spent_on=day, what="Diesel", amount=84.3, funder="River fund"),
            Deviation(
                season=SEASON, site_id=slope.id, happened_on=day, what="20 oaks fewer than wanted",
                why="A dry June", action="Asked of the next season",
            ),
            Decision(
                kind=DecisionKind.OVERRIDE, lot_id=acorns, site_id=slope.id, person=WHO,
                reason="No seed of the region in this mast year",
                at=dt.datetime(2025, 2, 1, 9, 0, tzinfo=dt.UTC),
            ),
        ]
    )  # fmt: skip
    own = read_preferences(session)
    own.organisation = "River trust (invented)"
    own.report_opening = "We thank all who dug.\n\nMost came twice."
    own.report_closing = "Next winter we go on."
    own.report_colour = "#7d2a4a"
