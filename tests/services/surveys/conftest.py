"""A site planted last winter, with two plots."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Planting, Site, Survey, SurveyPlot
from nursery.services.surveys.checking import Counted
from nursery.services.surveys.writing import record_survey

ANA = "Ana Seabra"
PLANTED_ON = dt.date(2025, 11, 20)


class Field:
    """A site where cork oaks and ashes were planted, and its plots."""

    def __init__(self, session: Session, maker: Any, today: dt.date) -> None:
        self.session, self.maker, self.today = session, maker, today
        self.site: Site = maker.site(code="S-007", name="Azenha", area_ha=2.0)
        self.oak, self.ash = maker.species(), maker.species("fraxinus-angustifolia")
        self.oaks, self.ashes = (
            maker.lot(
                population=maker.population(species=species),
                collected_on=dt.date(2024, 10, 20),
                ripening_year=2024,
            )
            for species in (self.oak, self.ash)
        )
        self.plots = [SurveyPlot(site_id=self.site.id, name=name, area_m2=100.0) for name in ("A", "B")]
        session.add_all(self.plots)
        self.plant(self.oaks, 500)
        self.plant(self.ashes, 300)
        session.flush()

    def plant(self, lot: Any, plants: int, *, day: dt.date = PLANTED_ON, is_replacement: bool = False) -> Planting:
        planting = Planting(
            site_id=self.site.id, lot_id=lot.id, planted_on=day, plants=plants, is_replacement=is_replacement
        )
        self.session.add(planting)
        self.session.flush()
        return planting

    def survey(
        self, *counts: tuple[Any, int, int], plot: int = 0, year: int = 1, season: int = 2025,
        replacements: int = 0, causes: dict[str, int] | None = None, day: dt.date | None = None,
    ) -> Survey:  # fmt: skip
        """``(species, planted, alive)`` in a plot."""
        return record_survey(
            self.session, ANA, plot=self.plots[plot], today=self.today,
            values={"season": season, "year": year, "surveyed_on": day or self.today},
            counts=[
                Counted(species.id, planted, alive, causes or {}, replacements, at)
                for at, (species, planted, alive) in enumerate(counts)
            ],
        )  # fmt: skip


@pytest.fixture
def field(session: Session, maker: Any, today: dt.date) -> Field:
    return Field(session, maker, today)
