"""Papers that travel with seed and plants, and the looks at quality that they rest on."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base
from nursery.models.batches import Batch
from nursery.models.dispatches import Dispatch
from nursery.models.lots import Lot
from nursery.models.recipients import Recipient
from nursery.models.types import UtcDateTime, at_least, choice, utc_now


class PaperKind(StrEnum):
    """What a paper is for."""

    SEED_DOCUMENT = "seed-document"
    SEED_LABEL = "seed-label"
    PLANT_DOCUMENT = "plant-document"
    PLANT_LABEL = "plant-label"
    PASSPORT = "passport"
    DELIVERY_NOTE = "delivery-note"


class Paper(Base):
    """A paper as it was drawn up. It is never changed: a wrong one is made void, with a reason."""

    __tablename__ = "papers"
    __table_args__ = (
        CheckConstraint("dispatch_id IS NOT NULL OR lot_id IS NOT NULL", name="subject"),
        CheckConstraint("(voided_at IS NULL) = (void_reason = '')", name="voided"),
        CheckConstraint("keep_until >= issued_on", name="keep_until"),
        Index("ix_papers_issued_on_id", "issued_on", "id"),
    )

    number: Mapped[str] = mapped_column(String(40), unique=True)
    kind: Mapped[PaperKind] = mapped_column(choice(PaperKind, "paper_kind"))
    #: The load that it travels with …
    dispatch_id: Mapped[int | None] = mapped_column(ForeignKey("dispatches.id"), index=True)
    #: … or the lot of seed, and the mark of the seed ledger's act by which it was given.
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lots.id"), index=True)
    act: Mapped[str] = mapped_column(String(32), default="", server_default="", index=True)
    recipient_id: Mapped[int | None] = mapped_column(ForeignKey("recipients.id"), index=True)
    #: Key and first day of the rules that it follows.
    regime: Mapped[str] = mapped_column(String(40), default="", server_default="")
    regime_from: Mapped[dt.date | None]
    #: ISO 639 code of the language it is written in.
    language: Mapped[str] = mapped_column(String(5))
    #: Everything printed, frozen: ``{"sections": [{"title", "rows": [[field, label, value], …]}, …], …}``.
    particulars: Mapped[dict[str, Any]] = mapped_column(JSON)
    issued_on: Mapped[dt.date]
    #: No earlier than this is it allowed to be thrown away.
    keep_until: Mapped[dt.date]
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    #: Who checked it and signs; empty while it is a draft.
    signed_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    signed_on: Mapped[dt.date | None]
    voided_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    voided_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    void_reason: Mapped[str] = mapped_column(default="", server_default="")

    dispatch: Mapped[Dispatch | None] = relationship()
    lot: Mapped[Lot | None] = relationship()
    recipient: Mapped[Recipient | None] = relationship()


class QualityCheck(Base):
    """A look at some plants of a batch before they leave: how many are fair and marketable, and their sizes."""

    __tablename__ = "quality_checks"
    __table_args__ = (
        at_least("looked_at", 1),
        CheckConstraint("fair BETWEEN 0 AND looked_at", name="fair"),
        CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn"),
        Index("ix_quality_checks_batch_id_checked_on", "batch_id", "checked_on"),
    )

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"))
    checked_on: Mapped[dt.date]
    looked_at: Mapped[int]
    fair: Mapped[int]
    #: Measured in those looked at, in cm and mm; empty where nobody measured.
    heights_cm: Mapped[list[float] | None] = mapped_column(JSON(none_as_null=True))
    collars_mm: Mapped[list[float] | None] = mapped_column(JSON(none_as_null=True))
    #: Defects seen: ``{defect: plants}``.
    defects: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    notes: Mapped[str] = mapped_column(default="", server_default="")
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    withdrawn_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    withdrawn_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    withdrawn_reason: Mapped[str] = mapped_column(default="", server_default="")

    batch: Mapped[Batch] = relationship()
