"""Lots of seed or cuttings, and where they are kept."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from sqlalchemy import BigInteger, CheckConstraint, ForeignKey, Index, String, false
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Record
from nursery.models.permits import Permit
from nursery.models.places import Population
from nursery.models.species import Species
from nursery.models.trips import Trip
from nursery.models.types import UtcDateTime, at_least, choice, fraction


class Material(StrEnum):
    """What a lot is made of."""

    SEED = "seed"
    CUTTINGS = "cuttings"


class Ripeness(StrEnum):
    """How ripe the fruit was when it was collected."""

    UNRIPE = "unripe"
    RIPE = "ripe"
    SHEDDING = "shedding"


class StoragePlace(Record):
    """A fridge, a cellar, a dry room."""

    __tablename__ = "storage_places"
    __table_args__ = (CheckConstraint("humidity_pct >= 0 AND humidity_pct <= 100", name="humidity_pct"),)

    name: Mapped[str] = mapped_column(String(80), unique=True)
    temperature_c: Mapped[float | None]
    #: Relative humidity of the air, per cent.
    humidity_pct: Mapped[float | None]


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
        at_least("fruit_mg", 0),
        at_least("plants_present", 1),
        fraction("crop_share", positive=True),
        CheckConstraint("cut_sound >= 0 AND cut_sound <= cut_total", name="cut_sound"),
        at_least("cut_total", 1),
        CheckConstraint("is_held = false OR released_at IS NULL", name="held"),
    )

    code: Mapped[str] = mapped_column(String(24), unique=True)
    material: Mapped[Material] = mapped_column(choice(Material, "material"), default=Material.SEED)
    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"), index=True)
    population_id: Mapped[int] = mapped_column(ForeignKey("populations.id"), index=True)
    trip_id: Mapped[int | None] = mapped_column(ForeignKey("trips.id"), index=True)
    collected_on: Mapped[dt.date]
    ripening_year: Mapped[int]
    mother_plants: Mapped[int | None]
    #: What the ledger's movements come to: clean seed in milligrams, or a count of pieces: one of the two.
    amount_mg: Mapped[int | None] = mapped_column(BigInteger)
    pieces: Mapped[int | None]
    #: Fruit not yet processed, in milligrams; also a sum of movements.
    fruit_mg: Mapped[int] = mapped_column(BigInteger, default=0, server_default="0")
    purity: Mapped[float | None]
    tsw_g: Mapped[float | None]
    #: Germination, or viability where seed cannot be germinated (rooting for cuttings), on the day of test.
    germination: Mapped[float | None]
    tested_on: Mapped[dt.date | None]
    #: Wet basis.
    moisture_pct: Mapped[float | None]
    #: Day of the moisture; None where a person typed the figure without one.
    moisture_on: Mapped[dt.date | None]
    storage_place_id: Mapped[int | None] = mapped_column(ForeignKey("storage_places.id"), index=True)
    #: Since when it has been kept there; None is since collecting.
    stored_on: Mapped[dt.date | None]
    #: The last day in a place, since left, that kills seed of this class.
    harmed_on: Mapped[dt.date | None]
    #: Bought or given by somebody else: no collecting permit is asked for it.
    is_received: Mapped[bool] = mapped_column(default=False, server_default=false())
    #: The document that came with received seed, as the supplier numbers it.
    supplier_document: Mapped[str] = mapped_column(String(120), default="", server_default="")
    #: Number of the master certificate; a mixture of several units or years needs a new one.
    certificate_number: Mapped[str] = mapped_column(String(60), default="", server_default="")
    #: The collecting permit the lot was taken under, as the authority numbers it.
    permit_number: Mapped[str] = mapped_column(String(60), default="", server_default="")
    permit_id: Mapped[int | None] = mapped_column(ForeignKey("permits.id"), index=True)
    #: A lot that no permit covers is kept but not sown until a person records why it may be.
    is_held: Mapped[bool] = mapped_column(default=False, server_default=false())
    released_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    released_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    release_reason: Mapped[str] = mapped_column(default="", server_default="")
    #: When the authority was told the quantity, where the permit asks for it.
    reported_on: Mapped[dt.date | None]
    #: Plants of the species present where the lot was collected; ``mother_plants`` of them were sampled.
    plants_present: Mapped[int | None]
    #: Share of the mature seed of the day that was taken, 0–1.
    crop_share: Mapped[float | None]
    #: Cut test in the field: sound seeds of those cut.
    cut_sound: Mapped[int | None]
    cut_total: Mapped[int | None]
    ripeness: Mapped[Ripeness | None] = mapped_column(choice(Ripeness, "ripeness"))
    habitat: Mapped[str] = mapped_column(default="", server_default="")

    species: Mapped[Species] = relationship()
    population: Mapped[Population] = relationship()
    trip: Mapped[Trip | None] = relationship(back_populates="lots")
    storage_place: Mapped[StoragePlace | None] = relationship()
    permit: Mapped[Permit | None] = relationship()
