"""A small whole story: two stands, a batch, a load with receipt and return, papers, a planting and a survey."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import (
    Bag,
    Batch,
    Dispatch,
    DispatchLine,
    Lot,
    Paper,
    Planting,
    Population,
    QualityCheck,
    Recipient,
    ReturnedPlants,
    SeedTest,
    Site,
    Survey,
    SurveyCount,
    SurveyPlot,
)
from nursery.models.decisions import DecisionKind
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.models.papers import PaperKind
from nursery.models.places import IndigenousStatus
from nursery.models.recipients import RecipientKind
from nursery.models.seed_tests import TestKind
from nursery.planning.growing.words import Cause, Stage
from nursery.services import batches
from nursery.services.dossier.asking import Asked
from nursery.services.origin.decisions import decide
from tests.conftest import TODAY

ANA = "Ana Seabra"
SENT, PLANTED, LOOKED = dt.date(2026, 1, 12), dt.date(2026, 1, 14), dt.date(2026, 11, 3)
REASON = "Only source within a day’s drive"


@dataclass
class Story:
    site: Site
    stand: Population
    lot: Lot
    batch: Batch
    load: Dispatch

    def asked(self, **other: Any) -> Asked:
        """The dossier of the site."""
        return Asked(TODAY, ANA, **{"site_id": self.site.id, **other})


@pytest.fixture
def story(session: Session, maker: Any) -> Story:
    stand = maker.population(
        code="P-071", name="Vidoeiro spring", latitude=40.1234, longitude=-7.5678, is_sensitive=True,
        region_code="R-9",
        indigenous_status=IndigenousStatus.AUTOCHTHONOUS, elevation_m=512.0,
    )  # fmt: skip
    trip = maker.trip(code="T-2024-31", collected_on=dt.date(2024, 10, 20), people="Xana Prado")
    site = maker.site(code="S-071", name="Fontela bank", region_code="R-1", planting_permit="PP/7")
    lot = maker.lot(
        code="QUSU-4024-7", population=stand, trip_id=trip.id, collected_on=trip.collected_on, ripening_year=2024,
        mother_plants=37, permit_number="COL 12/2024", purity=0.985, tsw_g=4210.5, germination=0.823,
        tested_on=dt.date(2024, 12, 2), storage_place_id=maker.place(name="Cellar").id,
        amount_mg=5_000_000,
    )  # fmt: skip
    session.add_all([Bag(lot_id=lot.id, tag=f"M{n}", weight_mg=weight) for n, weight in ((1, 300), (2, 100))])
    session.add(
        SeedTest(
            lot_id=lot.id, kind=TestKind.GERMINATION, tested_on=dt.date(2024, 12, 2), person=ANA, readings={},
            result=0.823, low=0.781, high=0.859, is_accepted=True, verdict={},
        )
    )  # fmt: skip
    batch = batches.sow(
        session, ANA, lot=lot, seeds=400, trays=10, container_id=maker.container(cells_per_tray=40).id,
        method="direct", protocol="", sown_on=dt.date(2024, 11, 20), today=TODAY,
    )  # fmt: skip
    when = {"today": TODAY}
    batches.record_count(
        session, ANA, batch=batch, stage=Stage.EMERGED, counted_on=dt.date(2025, 4, 2), plants=331, **when
    )
    batches.lose(
        session, ANA, batch=batch, plants=29, cause=Cause.DROUGHT, happened_on=dt.date(2025, 7, 9),
        reason="", **when,
    )  # fmt: skip
    decide(session, ANA, kind=DecisionKind.OVERRIDE, lot=lot, site=site, reason=REASON, today=TODAY)
    move = batches.dispatch(session, ANA, batch=batch, site_id=site.id, plants=217, happened_on=SENT, **when)
    load = Dispatch(
        code="D-2026-071", site_id=site.id, status=DispatchStatus.RECEIVED, planned_on=SENT, sent_on=SENT,
        recipient=Recipient(name="Vez council", kind=RecipientKind.PROFESSIONAL), driver="Rui Meira",
        received_on=SENT, received_time="16:40", received_by="Lia Corvo",
    )  # fmt: skip
    line = DispatchLine(
        dispatch=load, position=1, batch_id=batch.id, plants=217, sent=217, received=211, act=move.act
    )
    session.add_all([load, line])
    session.flush()
    _further(session, site, lot, batch, load, line)
    session.flush()
    return Story(site, stand, lot, batch, load)


def _further(session: Session, site: Site, lot: Lot, batch: Batch, load: Dispatch, line: DispatchLine) -> None:
    plot = SurveyPlot(site_id=site.id, name="Upper plot", area_m2=100.0)
    survey = Survey(plot=plot, season=2025, year=1, surveyed_on=LOOKED, person="Teo Brandal")
    session.add_all(
        [
            ReturnedPlants(
                line_id=line.id, plants=6, returned_on=SENT, condition="broken stems", person=ANA,
                decision=ReturnDecision.DISCARDED, decided_on=PLANTED, decided_by=ANA, decided_reason="Roots dry",
            ),
            Paper(
                number="DN-2026-0031", kind=PaperKind.DELIVERY_NOTE, dispatch_id=load.id, language="en",
                particulars={}, issued_on=SENT, keep_until=dt.date(2036, 1, 12), person=ANA, signed_by="Lia Corvo",
                signed_on=SENT,
            ),
            QualityCheck(batch_id=batch.id, checked_on=SENT, looked_at=60, fair=58, person=ANA),
            Planting(
                site_id=site.id, lot_id=lot.id, batch_id=batch.id, planted_on=PLANTED, plants=211, area_m2=4000.0,
                dispatch_line_id=line.id, people="Xana Prado",
            ),
            survey,
            SurveyCount(
                survey=survey, species_id=lot.species_id, planted=53, alive=41, causes={"drought": 9},
                replacements_alive=4,
            ),
        ]
    )  # fmt: skip
