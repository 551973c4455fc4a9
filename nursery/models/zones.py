"""Official areas on the map: regions of provenance and river basins, as an authority publishes them."""

from __future__ import annotations

from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Record
from nursery.models.species import Species
from nursery.models.types import choice


class ZoneKind(StrEnum):
    """What an area stands for."""

    REGION = "region"
    BASIN = "basin"


class Zone(Record):
    """A region of provenance (of one species, or of all) or a river basin, with its outline."""

    __tablename__ = "zones"
    __table_args__ = (
        CheckConstraint("kind = 'region' OR species_id IS NULL", name="basin_of_all_species"),
        CheckConstraint("lowest_m <= highest_m", name="elevations"),
        Index("ix_zones_kind_code_id", "kind", "code", "id"),
    )

    kind: Mapped[ZoneKind] = mapped_column(choice(ZoneKind, "zone_kind"))
    #: Whose law it is: a country or region, as the nursery writes it.
    jurisdiction: Mapped[str] = mapped_column(String(60), default="", server_default="")
    #: A region's code, or a basin's name, as populations and sites bear it.
    code: Mapped[str] = mapped_column(String(80))
    name: Mapped[str] = mapped_column(String(120), default="", server_default="")
    #: Empty where the area holds for every species.
    species_id: Mapped[int | None] = mapped_column(ForeignKey("species.id"), index=True)
    #: GeoJSON ``Polygon`` or ``MultiPolygon``, WGS 84, longitude first.
    geometry: Mapped[dict[str, Any]] = mapped_column(JSON)
    #: Altitude limits in metres, where the authority draws the region by them too.
    lowest_m: Mapped[float | None]
    highest_m: Mapped[float | None]
    #: Where the outline was published, and when.
    source: Mapped[str] = mapped_column(default="", server_default="")

    species: Mapped[Species | None] = relationship()
