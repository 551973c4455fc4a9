"""Collection trips."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from sqlalchemy import Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Record
from nursery.models.types import at_least

if TYPE_CHECKING:
    from nursery.models.lots import Lot


class Trip(Record):
    """One outing to collect; it yields one or more lots."""

    __tablename__ = "trips"
    __table_args__ = (
        at_least("hours", 0),
        at_least("km", 0),
        Index("ix_trips_collected_on_id", "collected_on", "id"),
    )

    code: Mapped[str] = mapped_column(String(24), unique=True)
    collected_on: Mapped[dt.date]
    #: Names, as the crew writes them.
    people: Mapped[str] = mapped_column(default="", server_default="")
    weather: Mapped[str] = mapped_column(String(120), default="", server_default="")
    #: Hours of all people together.
    hours: Mapped[float | None]
    km: Mapped[float | None]

    lots: Mapped[list[Lot]] = relationship(back_populates="trip", order_by="Lot.code")
