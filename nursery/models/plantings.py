"""What was planted: plants of one lot at one site on one day."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Record
from nursery.models.lots import Lot
from nursery.models.places import Site
from nursery.models.types import at_least


class Planting(Record):
    """Plants raised from one lot and planted at one site."""

    __tablename__ = "plantings"
    __table_args__ = (at_least("plants", 1), Index("ix_plantings_site_id_planted_on", "site_id", "planted_on"))

    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"))
    lot_id: Mapped[int] = mapped_column(ForeignKey("lots.id"), index=True)
    #: The batch they were raised in; empty where only the lot is known.
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    planted_on: Mapped[dt.date]
    plants: Mapped[int]

    site: Mapped[Site] = relationship()
    lot: Mapped[Lot] = relationship()
