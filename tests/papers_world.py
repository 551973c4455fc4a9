"""A load of cork oaks and hawthorns for a partner, and a lot of ash seed, everything written down."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Dispatch, DispatchLine, Lot, QualityCheck, Recipient, SeedTest, Zone
from nursery.models.lots import Material
from nursery.models.movements import Measure
from nursery.models.papers import PaperKind
from nursery.models.places import IndigenousStatus
from nursery.models.recipients import RecipientKind
from nursery.models.seed_tests import TestKind
from nursery.models.zones import ZoneKind
from nursery.services.papers.cases import Stated
from nursery.services.papers.consignments import Consignment, Part, consign_load
from nursery.services.papers.drawing_up import draw_up
from nursery.services.papers.giving import consign_gift, give
from nursery.services.papers.words import Purpose
from nursery.services.preferences import read_preferences

ANA = "Ana Seabra"
TODAY = dt.date(2026, 11, 25)
STATED = Stated(purpose=Purpose.RESTORATION, packages=2, package_type="sealed bags")


@dataclass
class World:
    """What papers are drawn up from."""

    session: Session
    maker: Any
    cork: Lot
    ash: Lot
    partner: Recipient
    load: Dispatch

    def consign(self) -> Consignment:
        self.session.flush()
        return consign_load(self.session, self.load, TODAY)

    def cork_part(self) -> Part:
        return next(part for part in self.consign().parts if part.species.key == "quercus-suber")

    def draw(self, kind: PaperKind, stated: Stated = STATED, language: str = "en") -> Any:
        part = self.cork_part() if kind.value.startswith("plant-") else None
        return draw_up(
            self.session, ANA, kind=kind, consignment=self.consign(), part=part, stated=stated, language=language,
            today=TODAY,
        )  # fmt: skip

    def give(self, grams: float = 5000) -> Consignment:
        gift = give(
            self.session, ANA, lot=self.ash, recipient=self.partner, amount=round(grams * 1000),
            measure=Measure.SEED, happened_on=TODAY, today=TODAY,
        )  # fmt: skip
        return consign_gift(self.session, self.ash, gift.act, TODAY)

    def draw_seed(self, kind: PaperKind, consignment: Consignment, stated: Stated = STATED) -> Any:
        part = consignment.parts[0] if kind.value.startswith("seed-") else None
        return draw_up(
            self.session, ANA, kind=kind, consignment=consignment, part=part, stated=stated, language="en",
            today=TODAY,
        )  # fmt: skip

    def test_of(self, lot: Lot, kind: TestKind, result: float, day: dt.date, **readings: Any) -> None:
        self.session.add(
            SeedTest(
                lot_id=lot.id,
                kind=kind,
                tested_on=day,
                person=ANA,
                readings=readings,
                result=result,
                is_accepted=True,
                verdict={"rule": "single"},
            )
        )
        self.session.flush()


@pytest.fixture
def world(session: Session, maker: Any) -> World:
    own = read_preferences(session)
    own.organisation, own.address, own.country = "Viveiro da Ajuvara", "Quinta das Lontras 1, Ajuvara", "ES"
    own.supplier_number, own.operator_number = "SUP-77", "ES-0042"
    session.add(Zone(kind=ZoneKind.REGION, code="GV-M", name="Middle Guadorva", geometry={}))
    stand = maker.population(
        code="P-901", region_code="GV-M", register_reference="FS-45/GV-M/001", elevation_m=420,
        indigenous_status=IndigenousStatus.AUTOCHTHONOUS,
    )  # fmt: skip
    cork = maker.lot(
        population=stand, code="CORK-1", certificate_number="2025/0031", ripening_year=2025,
        collected_on=dt.date(2025, 11, 3),
    )  # fmt: skip
    thorn = maker.lot(population=maker.population(species=maker.species("crataegus-monogyna")), code="THORN-1")
    gallery = maker.population(
        species=maker.species("fraxinus-angustifolia"), region_code="GV-M", register_reference="FS-21/GV-M/007",
        indigenous_status=IndigenousStatus.AUTOCHTHONOUS,
    )  # fmt: skip
    ash = maker.lot(
        population=gallery, code="ASH-1", certificate_number="2026/0102", amount_mg=20_000_000,
        storage_place_id=maker.place().id, collected_on=dt.date(2026, 10, 12),
    )  # fmt: skip
    tray = maker.container(name="Deep 40", cell_volume_cm3=300.0)
    sown = dt.date(2026, 1, 20)
    oaks = maker.batch(lot=cork, code="B-OAKS", sown_on=sown, container_id=tray.id)
    thorns = maker.batch(lot=thorn, code="B-THORNS", sown_on=sown, container_id=tray.id)
    session.add(
        QualityCheck(
            batch_id=oaks.id,
            checked_on=TODAY,
            looked_at=60,
            fair=58,
            person=ANA,
            heights_cm=[20.0] * 20,
            collars_mm=[4.0] * 20,
        )
    )
    partner = Recipient(
        name="Trigonda River Trust", kind=RecipientKind.PROFESSIONAL, address="Mill Lane 3, Trigonda", country="ES"
    )
    session.add(partner)
    session.flush()
    load = Dispatch(
        code="D-900", site_id=maker.site(name="Pelindra mill race").id, recipient_id=partner.id, planned_on=TODAY,
        vehicle="Van", driver="Rui Talho",
    )  # fmt: skip
    session.add(load)
    session.flush()
    for number, (batch, plants) in enumerate(((oaks, 300), (thorns, 90)), start=1):
        session.add(DispatchLine(dispatch_id=load.id, position=number, batch_id=batch.id, plants=plants))
    session.flush()
    return World(session, maker, cork, ash, partner, load)


def cuttings_of_poplar(world: World) -> Lot:
    """A lot of poplar cuttings, everything written down but the class that the person says."""
    stand = world.maker.population(
        species=world.maker.species("populus-nigra"), region_code="GV-M", register_reference="FS-58/GV-M/002"
    )
    lot: Lot = world.maker.lot(
        population=stand, material=Material.CUTTINGS, pieces=800, certificate_number="2026/7"
    )
    return lot
