"""Survival surveys: marked plots, what lived in them after one, three and five years, and why plants died."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base, Record
from nursery.models.evidence import Evidence
from nursery.models.lots import Lot
from nursery.models.places import Site
from nursery.models.species import Species
from nursery.models.targets import Target
from nursery.models.types import UtcDateTime, at_least, on_the_globe, utc_now


class SurveyPlot(Record):
    """A marked piece of a planting site that is looked at again and again."""

    __tablename__ = "survey_plots"
    __table_args__ = (
        *on_the_globe(),
        UniqueConstraint("site_id", "name"),
        CheckConstraint("area_m2 > 0", name="area_m2"),
    )

    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"), index=True)
    name: Mapped[str] = mapped_column(String(80))
    area_m2: Mapped[float | None]
    latitude: Mapped[float | None]
    longitude: Mapped[float | None]

    site: Mapped[Site] = relationship()


class Survey(Base):
    """One look at one plot; a wrong one is withdrawn with a reason."""

    __tablename__ = "surveys"
    __table_args__ = (
        CheckConstraint("season BETWEEN 1900 AND 2200", name="season"),
        CheckConstraint("year BETWEEN 1 AND 20", name="year"),
        CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn"),
        Index("ix_surveys_surveyed_on_id", "surveyed_on", "id"),
    )

    plot_id: Mapped[int] = mapped_column(ForeignKey("survey_plots.id"), index=True)
    #: First year of the planting winter whose plants are counted.
    season: Mapped[int]
    #: How many growing seasons they have lived through: 1, 3, 5 …
    year: Mapped[int]
    surveyed_on: Mapped[dt.date]
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    notes: Mapped[str] = mapped_column(default="", server_default="")
    withdrawn_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    withdrawn_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    withdrawn_reason: Mapped[str] = mapped_column(default="", server_default="")

    plot: Mapped[SurveyPlot] = relationship()
    counts: Mapped[list[SurveyCount]] = relationship(back_populates="survey", order_by="SurveyCount.id")


class SurveyCount(Base):
    """Plants of one species in a plot: planted there, alive now, dead by cause. Replacements stand apart."""

    __tablename__ = "survey_counts"
    __table_args__ = (
        UniqueConstraint("survey_id", "species_id"),
        at_least("planted", 1),
        CheckConstraint("alive BETWEEN 0 AND planted", name="alive"),
        at_least("replacements_alive", 0),
        CheckConstraint("(target_id IS NULL) = (replaced IS NULL)", name="handed_on"),
        at_least("replaced", 1),
    )

    survey_id: Mapped[int] = mapped_column(ForeignKey("surveys.id"))
    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"), index=True)
    #: Where all of them are of one lot.
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lots.id"), index=True)
    #: Planted first, replacements left out.
    planted: Mapped[int]
    alive: Mapped[int]
    #: ``{cause: plants}`` of the dead whose cause was seen.
    causes: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    #: Later replacements that live in the plot; never added to the survivors.
    replacements_alive: Mapped[int] = mapped_column(default=0, server_default="0")
    #: What it taught the rates.
    evidence_id: Mapped[int | None] = mapped_column(ForeignKey("evidence.id"), index=True)
    #: The target that makes up for the losses, and by how many plants.
    target_id: Mapped[int | None] = mapped_column(ForeignKey("targets.id"), index=True)
    replaced: Mapped[int | None]

    survey: Mapped[Survey] = relationship(back_populates="counts")
    species: Mapped[Species] = relationship()
    lot: Mapped[Lot | None] = relationship()
    evidence: Mapped[Evidence | None] = relationship()
    target: Mapped[Target | None] = relationship()
