"""Collecting permits: what may be collected, where, when and how much."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, BigInteger, CheckConstraint, ForeignKey, Index, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base, Record
from nursery.models.species import Species
from nursery.models.types import at_least, choice


class AreaKind(StrEnum):
    """How a permit line says where."""

    ANYWHERE = "anywhere"
    PLACES = "places"
    POLYGON = "polygon"


class Permit(Record):
    """One permit of one authority; what it allows stands in its lines."""

    __tablename__ = "permits"
    __table_args__ = (
        UniqueConstraint("authority", "number"),
        CheckConstraint("valid_from <= valid_to", name="valid"),
        at_least("notice_days", 0),
        at_least("report_days", 0),
        Index("ix_permits_valid_to_id", "valid_to", "id"),
    )

    number: Mapped[str] = mapped_column(String(60))
    authority: Mapped[str] = mapped_column(String(120))
    holder: Mapped[str] = mapped_column(String(120), default="", server_default="")
    valid_from: Mapped[dt.date]
    valid_to: Mapped[dt.date]
    #: Days before a collection by which the authority is to be told; 0 for no notice.
    notice_days: Mapped[int] = mapped_column(default=0, server_default="0")
    #: Days after a collection by which the quantity is to be reported; empty for no report.
    report_days: Mapped[int | None]
    conditions: Mapped[str] = mapped_column(default="", server_default="")

    lines: Mapped[list[PermitLine]] = relationship(back_populates="permit", order_by="PermitLine.id")


class PermitLine(Base):
    """One species of a permit, with its cap and its area."""

    __tablename__ = "permit_lines"
    __table_args__ = (
        at_least("cap_mg", 1),
        at_least("cap_pieces", 1),
        CheckConstraint("area_kind <> 'polygon' OR polygon IS NOT NULL", name="polygon"),
        CheckConstraint("area_kind <> 'places' OR places <> ''", name="places"),
    )

    permit_id: Mapped[int] = mapped_column(ForeignKey("permits.id"), index=True)
    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"), index=True)
    #: Most that may be collected: milligrams of what is collected, or pieces; both empty for no cap.
    cap_mg: Mapped[int | None] = mapped_column(BigInteger)
    cap_pieces: Mapped[int | None]
    area_kind: Mapped[AreaKind] = mapped_column(choice(AreaKind, "area_kind"), default=AreaKind.ANYWHERE)
    #: Basins, region codes or population codes, separated by semicolons.
    places: Mapped[str] = mapped_column(default="", server_default="")
    #: GeoJSON geometry (Polygon or MultiPolygon), WGS 84, longitude first.
    polygon: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))

    permit: Mapped[Permit] = relationship(back_populates="lines")
    species: Mapped[Species] = relationship()
