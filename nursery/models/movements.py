"""The seed ledger: every gram and every piece that came to a lot or left it."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from sqlalchemy import BigInteger, CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base
from nursery.models.lots import Lot
from nursery.models.only_added import only_added
from nursery.models.types import UtcDateTime, choice, utc_now


class MovementKind(StrEnum):
    """Why an amount changed."""

    OPENING = "opening"
    COLLECTED = "collected"
    EXTRACTED = "extracted"
    CLEANED = "cleaned"
    SAMPLED = "sampled"
    WITHDRAWN = "withdrawn"
    SPLIT = "split"
    MIXED = "mixed"
    GIVEN = "given"
    DISCARDED = "discarded"
    RECOUNTED = "recounted"
    REVERSAL = "reversal"


class Measure(StrEnum):
    """What is counted: fruit or seed in milligrams, or pieces."""

    FRUIT = "fruit"
    SEED = "seed"
    PIECES = "pieces"


class Movement(Base):
    """One change of one lot's amount. Rows are only ever added; a mistake is undone by a reversal."""

    __tablename__ = "movements"
    __table_args__ = (
        CheckConstraint("change <> 0", name="change"),
        CheckConstraint("(kind = 'reversal') = (reverses_id IS NOT NULL)", name="reverses"),
        Index("ix_movements_lot_id_id", "lot_id", "id"),
    )

    lot_id: Mapped[int] = mapped_column(ForeignKey("lots.id"))
    kind: Mapped[MovementKind] = mapped_column(choice(MovementKind, "movement_kind"))
    measure: Mapped[Measure] = mapped_column(choice(Measure, "measure"))
    #: Milligrams (fruit, seed) or pieces; below zero for what leaves the lot.
    change: Mapped[int] = mapped_column(BigInteger)
    reason: Mapped[str] = mapped_column(default="", server_default="")
    person: Mapped[str] = mapped_column(String(80))
    #: The day on which it happened, and the moment at which it was written down.
    happened_on: Mapped[dt.date]
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    #: Movements of one act (fruit out, seed in; two lots into a third) carry the same mark.
    act: Mapped[str] = mapped_column(String(32), index=True)
    #: The lot on the other side of a split or a mix.
    other_lot_id: Mapped[int | None] = mapped_column(ForeignKey("lots.id"), index=True)
    reverses_id: Mapped[int | None] = mapped_column(ForeignKey("movements.id"), unique=True)

    lot: Mapped[Lot] = relationship(foreign_keys=[lot_id])
    other_lot: Mapped[Lot | None] = relationship(foreign_keys=[other_lot_id])


only_added(Movement.metadata.tables["movements"])
