"""Bags of single mother plants: their weights are the mothers' shares of a lot."""

from __future__ import annotations

from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from nursery.models.base import Base
from nursery.models.types import choice


class Sex(StrEnum):
    """Of a dioecious plant."""

    FEMALE = "female"
    MALE = "male"


class Bag(Base):
    """What one mother plant gave to one lot."""

    __tablename__ = "bags"
    __table_args__ = (
        UniqueConstraint("lot_id", "tag"),
        CheckConstraint("weight_mg > 0", name="weight_mg"),
        CheckConstraint("(latitude IS NULL) = (longitude IS NULL)", name="position"),
        CheckConstraint("latitude BETWEEN -90 AND 90", name="latitude"),
        CheckConstraint("longitude BETWEEN -180 AND 180", name="longitude"),
    )

    lot_id: Mapped[int] = mapped_column(ForeignKey("lots.id"), index=True)
    #: As written on the bag and on the tree.
    tag: Mapped[str] = mapped_column(String(40))
    #: Weight of the bag in milligrams; for cuttings, their number times a thousand.
    weight_mg: Mapped[int]
    latitude: Mapped[float | None]
    longitude: Mapped[float | None]
    sex: Mapped[Sex | None] = mapped_column(choice(Sex, "sex"))
