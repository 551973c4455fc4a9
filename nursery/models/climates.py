"""Climate normals of a place, today's and those expected."""

from __future__ import annotations

from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from nursery.models.base import Base
from nursery.models.types import at_least, choice


class Period(StrEnum):
    """Which climate is meant."""

    PRESENT = "present"
    EXPECTED = "expected"


class Climate(Base):
    """Normals of one population or one site for one period; what is not known stays empty."""

    __tablename__ = "climates"
    __table_args__ = (
        CheckConstraint("(population_id IS NULL) <> (site_id IS NULL)", name="one_place"),
        UniqueConstraint("population_id", "period"),
        UniqueConstraint("site_id", "period"),
        CheckConstraint("mean_annual_c BETWEEN -60 AND 60", name="mean_annual_c"),
        CheckConstraint("coldest_month_min_c BETWEEN -80 AND 60", name="coldest_month_min_c"),
        at_least("annual_rain_mm", 0),
        at_least("summer_rain_mm", 0),
    )

    population_id: Mapped[int | None] = mapped_column(ForeignKey("populations.id"))
    site_id: Mapped[int | None] = mapped_column(ForeignKey("sites.id"))
    period: Mapped[Period] = mapped_column(choice(Period, "climate_period"), default=Period.PRESENT)
    mean_annual_c: Mapped[float | None]
    annual_rain_mm: Mapped[float | None]
    summer_rain_mm: Mapped[float | None]
    coldest_month_min_c: Mapped[float | None]
    #: Data set and years (``1991–2020``), or scenario.
    source: Mapped[str] = mapped_column(String(200), default="", server_default="")
