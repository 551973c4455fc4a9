"""Where plants come from, where they grow, and where they go."""

from __future__ import annotations

from enum import StrEnum

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String, UniqueConstraint, false
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Record
from nursery.models.recipients import Recipient
from nursery.models.rule_sets import RuleSet
from nursery.models.species import Species
from nursery.models.types import at_least, choice, on_the_globe
from nursery.planning.mixing import Basic, Category


class IndigenousStatus(StrEnum):
    """Whether the stand belongs where it grows (Spanish RD 289/2003 art. 2, after Directive 1999/105/EC)."""

    AUTOCHTHONOUS = "autochthonous"
    INDIGENOUS = "indigenous"
    NON_INDIGENOUS = "non-indigenous"
    UNKNOWN = "unknown"


class Population(Record):
    """A wild stand of one species where material is collected."""

    __tablename__ = "populations"
    __table_args__ = (
        *on_the_globe(),
        at_least("fruiting_plants", 0),
        Index("ix_populations_name_id", "name", "id"),
    )

    code: Mapped[str] = mapped_column(String(24), unique=True)
    name: Mapped[str] = mapped_column(String(120))
    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"), index=True)
    latitude: Mapped[float]
    longitude: Mapped[float]
    elevation_m: Mapped[float | None]
    basin: Mapped[str] = mapped_column(String(80), default="", server_default="")
    #: Region-of-provenance code as the authority writes it; typed, not verified on a map.
    region_code: Mapped[str] = mapped_column(String(24), default="", server_default="", index=True)
    indigenous_status: Mapped[IndigenousStatus] = mapped_column(
        choice(IndigenousStatus, "indigenous_status"), default=IndigenousStatus.UNKNOWN
    )
    #: Category of the law, and type of basic material, under which its material is collected.
    category: Mapped[Category] = mapped_column(
        choice(Category, "population_category"),
        default=Category.SOURCE_IDENTIFIED,
        server_default=Category.SOURCE_IDENTIFIED.value,
    )
    basic_material: Mapped[Basic] = mapped_column(
        choice(Basic, "basic_material"), default=Basic.SEED_SOURCE, server_default=Basic.SEED_SOURCE.value
    )
    fruiting_plants: Mapped[int | None]
    #: Of the approved unit in the national register, as the authority writes it.
    register_reference: Mapped[str] = mapped_column(String(40), default="", server_default="")
    #: ISO 3166-1 alpha-2; empty takes the nursery's own.
    country: Mapped[str] = mapped_column(String(2), default="", server_default="")
    #: Its place is rounded in whatever leaves the house as data.
    is_sensitive: Mapped[bool] = mapped_column(default=False, server_default=false())

    species: Mapped[Species] = relationship()


class Site(Record):
    """A place to be planted, and the days of the year when planting there makes sense."""

    __tablename__ = "sites"
    __table_args__ = (
        *on_the_globe(),
        CheckConstraint("area_ha > 0", name="area_ha"),
        Index("ix_sites_name_id", "name", "id"),
    )

    code: Mapped[str] = mapped_column(String(24), unique=True)
    name: Mapped[str] = mapped_column(String(120))
    area_ha: Mapped[float | None]
    latitude: Mapped[float]
    longitude: Mapped[float]
    elevation_m: Mapped[float | None]
    basin: Mapped[str] = mapped_column(String(80), default="", server_default="")
    region_code: Mapped[str] = mapped_column(String(24), default="", server_default="", index=True)
    #: First and last planting day of a season as ``MM-DD``; the window may cross the new year.
    window_opens: Mapped[str] = mapped_column(String(5), default="11-01", server_default="11-01")
    window_closes: Mapped[str] = mapped_column(String(5), default="02-28", server_default="02-28")
    #: Takes material of known native origin only.
    native_only: Mapped[bool] = mapped_column(default=False, server_default=false())
    #: The lowest category of the law that the site takes; empty takes any.
    least_category: Mapped[Category | None] = mapped_column(choice(Category, "least_category"))
    #: Who takes plants over there; empty when our own crews plant.
    recipient_id: Mapped[int | None] = mapped_column(ForeignKey("recipients.id"), index=True)
    #: The planting authorisation or prior notice, as the authority numbers it.
    planting_permit: Mapped[str] = mapped_column(String(60), default="", server_default="")
    #: Empty follows the default set of rules.
    rule_set_id: Mapped[int | None] = mapped_column(ForeignKey("rule_sets.id"), index=True)

    recipient: Mapped[Recipient | None] = relationship()
    rule_set: Mapped[RuleSet | None] = relationship()


class Nursery(Record):
    """A growing place of one's own."""

    __tablename__ = "nurseries"
    __table_args__ = (*on_the_globe(), at_least("bench_area_m2", 0))

    name: Mapped[str] = mapped_column(String(120), unique=True)
    latitude: Mapped[float]
    longitude: Mapped[float]
    elevation_m: Mapped[float | None]
    bench_area_m2: Mapped[float] = mapped_column(default=0.0)
    #: Twelve mean temperatures in °C, January first; needed only for phases counted in degree-days.
    monthly_mean_c: Mapped[list[float] | None] = mapped_column(JSON(none_as_null=True))


class Container(Record):
    """A container type of one nursery: a tray of cells."""

    __tablename__ = "containers"
    __table_args__ = (
        UniqueConstraint("nursery_id", "name"),
        at_least("cells_per_tray", 1),
        CheckConstraint("cell_volume_cm3 > 0", name="cell_volume_cm3"),
        at_least("trays_owned", 0),
    )

    nursery_id: Mapped[int] = mapped_column(ForeignKey("nurseries.id"), index=True)
    name: Mapped[str] = mapped_column(String(120))
    cells_per_tray: Mapped[int]
    cell_volume_cm3: Mapped[float]
    tray_length_mm: Mapped[float | None]
    tray_width_mm: Mapped[float | None]
    trays_owned: Mapped[int | None]

    nursery: Mapped[Nursery] = relationship()
