"""What is wanted: site, species and season."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Record
from nursery.models.places import Container, Site
from nursery.models.species import Species
from nursery.models.types import at_least, choice, fraction


class TargetBasis(StrEnum):
    """How the wish is put."""

    PLANTS = "plants"
    DENSITY = "density"
    SURVIVORS = "survivors"


class Target(Record):
    """Plants, a density, or survivors of one species at one site in one season."""

    __tablename__ = "targets"
    __table_args__ = (
        at_least("plants", 1),
        CheckConstraint("density_per_ha > 0", name="density_per_ha"),
        fraction("share", positive=True),
        CheckConstraint("survival_year IN (1, 3)", name="survival_year"),
        CheckConstraint(
            "(basis = 'density' AND density_per_ha IS NOT NULL AND share IS NOT NULL AND plants IS NULL)"
            " OR (basis = 'plants' AND plants IS NOT NULL)"
            " OR (basis = 'survivors' AND plants IS NOT NULL AND survival_year IS NOT NULL)",
            name="basis_complete",
        ),
        CheckConstraint("season BETWEEN 2000 AND 2200", name="season"),
        at_least("seeds_per_cell", 1),
        CheckConstraint("assurance > 0 AND assurance < 1", name="assurance"),
        CheckConstraint("priority BETWEEN 1 AND 5", name="priority"),
        at_least("replacements", 0),
        CheckConstraint("replacements = 0 OR replacements <= plants", name="replacements_of_plants"),
        Index(
            "uq_targets_open", "site_id", "species_id", "season", unique=True,
            sqlite_where=text("archived_at IS NULL"), postgresql_where=text("archived_at IS NULL"),
        ),
        Index("ix_targets_season_id", "season", "id"),
    )  # fmt: skip

    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"), index=True)
    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"), index=True)
    #: First year of the planting winter: 2027 is 2027/28.
    season: Mapped[int]
    basis: Mapped[TargetBasis] = mapped_column(choice(TargetBasis, "basis"), default=TargetBasis.PLANTS)
    #: Plants to plant, or survivors wanted, by ``basis``.
    plants: Mapped[int | None]
    density_per_ha: Mapped[float | None]
    #: Share of the site's mix, 0–1.
    share: Mapped[float | None]
    survival_year: Mapped[int | None]
    container_id: Mapped[int | None] = mapped_column(ForeignKey("containers.id"), index=True)
    #: Key of the propagation protocol; empty takes the species' first.
    protocol: Mapped[str] = mapped_column(String(60), default="", server_default="")
    #: Pinned by a person; empty lets the plan choose by least cost.
    seeds_per_cell: Mapped[int | None]
    #: The chance asked for; empty takes the nursery's own.
    assurance: Mapped[float | None]
    #: Pinned planting day; empty takes the day the site's window opens.
    plant_on: Mapped[dt.date | None]
    #: Who pays for it.
    funder: Mapped[str] = mapped_column(String(120), default="", server_default="")
    #: Of its plants, those that make up for losses of earlier plantings.
    replacements: Mapped[int] = mapped_column(default=0, server_default="0")
    #: 1 is served first.
    priority: Mapped[int] = mapped_column(default=3)

    site: Mapped[Site] = relationship()
    species: Mapped[Species] = relationship()
    container: Mapped[Container | None] = relationship()
