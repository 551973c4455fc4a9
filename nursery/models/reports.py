"""Season reports as they were made, and what went otherwise than planned."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base, Record
from nursery.models.places import Site
from nursery.models.types import UtcDateTime, utc_now


class Deviation(Record):
    """Something that went otherwise than planned: what, why, and what was done."""

    __tablename__ = "deviations"
    __table_args__ = (
        CheckConstraint("season BETWEEN 2000 AND 2200", name="season"),
        Index("ix_deviations_season_id", "season", "id"),
    )

    season: Mapped[int]
    #: Empty where it touches the whole season.
    site_id: Mapped[int | None] = mapped_column(ForeignKey("sites.id"), index=True)
    happened_on: Mapped[dt.date]
    what: Mapped[str]
    why: Mapped[str] = mapped_column(default="", server_default="")
    action: Mapped[str] = mapped_column(default="", server_default="")

    site: Mapped[Site | None] = relationship()


class SeasonReport(Base):
    """A report with its numbers, frozen: page, PDF and workbook all read these."""

    __tablename__ = "season_reports"
    __table_args__ = (
        CheckConstraint("season BETWEEN 2000 AND 2200", name="season"),
        Index("ix_season_reports_season_id", "season", "id"),
    )

    season: Mapped[int]
    #: Reckoned with what was known on this day.
    as_of: Mapped[dt.date]
    #: ISO 639 code of the language in which it was made; it can be read in others.
    language: Mapped[str] = mapped_column(String(5))
    figures: Mapped[dict[str, Any]] = mapped_column(JSON, deferred=True)
    #: SHA-256 of the figures.
    digest: Mapped[str] = mapped_column(String(64))
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    archived_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
