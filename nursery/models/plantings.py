"""What was planted: plants of one lot at one site on one day."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, false
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Record
from nursery.models.lots import Lot
from nursery.models.places import Site
from nursery.models.types import at_least


class Planting(Record):
    """Plants raised from one lot and planted at one site."""

    __tablename__ = "plantings"
    __table_args__ = (
        at_least("plants", 1),
        CheckConstraint("area_m2 > 0", name="area_m2"),
        at_least("volunteers", 0),
        CheckConstraint("hours > 0", name="hours"),
        Index("ix_plantings_site_id_planted_on", "site_id", "planted_on"),
    )

    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"))
    lot_id: Mapped[int] = mapped_column(ForeignKey("lots.id"), index=True)
    #: The batch they were raised in; empty where only the lot is known.
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    planted_on: Mapped[dt.date]
    plants: Mapped[int]
    #: The line of the load by which they came; empty where nobody wrote a load down.
    dispatch_line_id: Mapped[int | None] = mapped_column(ForeignKey("dispatch_lines.id"), index=True)
    #: Who planted, how many of them volunteers, and the hours of all together.
    people: Mapped[str] = mapped_column(String(200), default="", server_default="")
    volunteers: Mapped[int | None]
    hours: Mapped[float | None]
    #: Ground that was planted; the density follows from it.
    area_m2: Mapped[float | None]
    #: Planted where others had died; counted apart from first plantings.
    is_replacement: Mapped[bool] = mapped_column(default=False, server_default=false())

    site: Mapped[Site] = relationship()
    lot: Mapped[Lot] = relationship()
