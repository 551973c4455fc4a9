"""Species of the catalogue, and the figures a nursery has replaced with its own."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import JSON, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base
from nursery.models.types import UtcDateTime, utc_now


class Species(Base):
    """A taxon of the catalogue; its figures stay in the catalogue files."""

    __tablename__ = "species"

    #: File name of the catalogue entry.
    key: Mapped[str] = mapped_column(String(80), unique=True)
    scientific_name: Mapped[str] = mapped_column(String(120), unique=True)
    authorship: Mapped[str] = mapped_column(String(120), default="", server_default="")

    overrides: Mapped[list[Override]] = relationship(back_populates="species")


class Override(Base):
    """One figure of one species, set by this nursery against the catalogue."""

    __tablename__ = "overrides"
    __table_args__ = (UniqueConstraint("species_id", "figure"),)

    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"))
    #: Dotted path of the figure in the catalogue entry.
    figure: Mapped[str] = mapped_column(String(160))
    value: Mapped[Any] = mapped_column(JSON)
    reason: Mapped[str] = mapped_column(default="", server_default="")
    person: Mapped[str] = mapped_column(String(80))
    changed_at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)

    species: Mapped[Species] = relationship(back_populates="overrides")
