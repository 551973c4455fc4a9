"""What a nursery uses up and buys: containers, substrate, labels, feed; room by stage; money spent."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base, Record
from nursery.models.batches import Batch
from nursery.models.only_added import only_added
from nursery.models.places import Container
from nursery.models.species import Species
from nursery.models.types import UtcDateTime, at_least, choice, utc_now
from nursery.planning.growing.words import Stage


class SupplyKind(StrEnum):
    """What a supply is used for; each kind knows its unit."""

    CONTAINER = "container"
    SUBSTRATE = "substrate"
    LABEL = "label"
    FEED = "feed"
    OTHER = "other"


class SupplyUnit(StrEnum):
    """What a supply is counted in."""

    PIECES = "pieces"
    LITRES = "litres"
    KILOGRAMS = "kilograms"


class Supply(Record):
    """A material that is kept in stock and ordered again in time."""

    __tablename__ = "supplies"
    __table_args__ = (
        CheckConstraint("kind <> 'container' OR container_id IS NOT NULL", name="container"),
        CheckConstraint("pack > 0", name="pack"),
        at_least("price_per_pack", 0),
        at_least("lead_days", 0),
        at_least("safety_stock", 0),
        at_least("use_per_1000_plants", 0),
    )

    name: Mapped[str] = mapped_column(String(120), unique=True)
    kind: Mapped[SupplyKind] = mapped_column(choice(SupplyKind, "supply_kind"))
    unit: Mapped[SupplyUnit] = mapped_column(choice(SupplyUnit, "supply_unit"))
    #: Trays of this container; only for containers.
    container_id: Mapped[int | None] = mapped_column(ForeignKey("containers.id"), index=True)
    #: Units in a pack as sold, and its price in one's own currency.
    pack: Mapped[float] = mapped_column(default=1.0)
    price_per_pack: Mapped[float | None]
    supplier: Mapped[str] = mapped_column(String(120), default="", server_default="")
    #: From order to delivery.
    lead_days: Mapped[int] = mapped_column(default=14)
    #: Never to fall below.
    safety_stock: Mapped[float] = mapped_column(default=0.0)
    #: For labels, feed and others; containers and substrate follow from the trays.
    use_per_1000_plants: Mapped[float | None]

    container: Mapped[Container | None] = relationship()


class SupplyMovementKind(StrEnum):
    """Why the stock of a supply changed."""

    COUNTED = "counted"
    RECEIVED = "received"
    USED = "used"
    DISCARDED = "discarded"


class SupplyMovement(Base):
    """One change of a supply's stock. Rows are only ever added; a new count puts a mistake right."""

    __tablename__ = "supply_movements"
    __table_args__ = (
        CheckConstraint("change <> 0", name="change"),
        Index("ix_supply_movements_supply_id_id", "supply_id", "id"),
    )

    supply_id: Mapped[int] = mapped_column(ForeignKey("supplies.id"))
    kind: Mapped[SupplyMovementKind] = mapped_column(choice(SupplyMovementKind, "supply_movement_kind"))
    change: Mapped[float]
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    happened_on: Mapped[dt.date]
    #: What was paid for what was received.
    cost: Mapped[float | None]
    reason: Mapped[str] = mapped_column(default="", server_default="")
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)

    supply: Mapped[Supply] = relationship()


only_added(SupplyMovement.metadata.tables["supply_movements"])


class StageRoom(Base):
    """Room and water of a stage: bench area as a multiple of the tray's footprint."""

    __tablename__ = "stage_rooms"
    __table_args__ = (CheckConstraint("spacing >= 1", name="spacing"), at_least("water_l_per_m2_day", 0))

    stage: Mapped[Stage] = mapped_column(choice(Stage, "room_stage"), unique=True)
    spacing: Mapped[float]
    #: Empty where no rate is given.
    water_l_per_m2_day: Mapped[float | None]
    person: Mapped[str] = mapped_column(String(80))


class Expense(Record):
    """Money spent that is no wage and no supply from stock: fuel, rent, repairs, bought seed."""

    __tablename__ = "expenses"
    __table_args__ = (
        CheckConstraint("amount > 0", name="amount"),
        Index("ix_expenses_spent_on_id", "spent_on", "id"),
    )

    spent_on: Mapped[dt.date]
    what: Mapped[str] = mapped_column(String(120))
    amount: Mapped[float]
    #: Empty is borne by all.
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    species_id: Mapped[int | None] = mapped_column(ForeignKey("species.id"), index=True)
    funder: Mapped[str] = mapped_column(String(120), default="", server_default="")

    batch: Mapped[Batch | None] = relationship()
    species: Mapped[Species | None] = relationship()
