"""Lots of seed or cuttings, and where they are kept."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from sqlalchemy import BigInteger, CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Record
from nursery.models.places import Population
from nursery.models.species import Species
from nursery.models.trips import Trip
from nursery.models.types import at_least, choice, fraction


class Material(StrEnum):
    """What a lot is made of."""

    SEED = "seed"
    CUTTINGS = "cuttings"


class StoragePlace(Record):
    """A fridge, a cellar, a dry room."""

    __tablename__ = "storage_places"

    name: Mapped[str] = mapped_column(String(80), unique=True)
    temperature_c: Mapped[float | None]


class Lot(Record):
    """Seed (or cuttings) of one species, one population, one ripening year: the unit of identity."""

    __tablename__ = "lots"
    __table_args__ = (
        CheckConstraint("(amount_mg IS NULL) <> (pieces IS NULL)", name="one_unit"),
        at_least("amount_mg", 0),
        at_least("pieces", 0),
        at_least("mother_plants", 1),
        fraction("purity", positive=True),
        fraction("germination"),
        CheckConstraint("tsw_g > 0", name="tsw_g"),
        CheckConstraint("moisture_pct > 0 AND moisture_pct < 100", name="moisture_pct"),
        CheckConstraint("ripening_year BETWEEN 1900 AND 2200", name="ripening_year"),
        Index("ix_lots_ripening_year_id", "ripening_year", "id"),
    )

    code: Mapped[str] = mapped_column(String(24), unique=True)
    material: Mapped[Material] = mapped_column(choice(Material, "material"), default=Material.SEED)
    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"), index=True)
    population_id: Mapped[int] = mapped_column(ForeignKey("populations.id"), index=True)
    trip_id: Mapped[int | None] = mapped_column(ForeignKey("trips.id"), index=True)
    collected_on: Mapped[dt.date]
    ripening_year: Mapped[int]
    mother_plants: Mapped[int | None]
    #: Clean seed in milligrams, or a count of pieces: one of the two.
    amount_mg: Mapped[int | None] = mapped_column(BigInteger)
    pieces: Mapped[int | None]
    purity: Mapped[float | None]
    tsw_g: Mapped[float | None]
    #: Germination, or viability where seed cannot be germinated (rooting for cuttings), on the day of test.
    germination: Mapped[float | None]
    tested_on: Mapped[dt.date | None]
    #: Wet basis.
    moisture_pct: Mapped[float | None]
    storage_place_id: Mapped[int | None] = mapped_column(ForeignKey("storage_places.id"), index=True)
    #: The collecting permit the lot was taken under, as the authority numbers it.
    permit_number: Mapped[str] = mapped_column(String(60), default="", server_default="")

    species: Mapped[Species] = relationship()
    population: Mapped[Population] = relationship()
    trip: Mapped[Trip | None] = relationship(back_populates="lots")
    storage_place: Mapped[StoragePlace | None] = relationship()
