"""Loads of plants that go to a site: what is to be picked, what went, what arrived, what came back."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, UniqueConstraint, false
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base, Record
from nursery.models.batches import Batch, Bench
from nursery.models.places import Site
from nursery.models.recipients import Recipient
from nursery.models.targets import Target
from nursery.models.types import UtcDateTime, at_least, choice, utc_now


class DispatchStatus(StrEnum):
    """How far a load has come."""

    PLANNED = "planned"
    SENT = "sent"
    RECEIVED = "received"
    CANCELLED = "cancelled"


class Dispatch(Record):
    """One load to one site on one day."""

    __tablename__ = "dispatches"
    __table_args__ = (
        CheckConstraint("(status IN ('sent', 'received')) = (sent_on IS NOT NULL)", name="sent"),
        CheckConstraint("(status = 'received') = (received_on IS NOT NULL)", name="received"),
        CheckConstraint("(status = 'received') = (received_by <> '')", name="received_by"),
        CheckConstraint("received_on >= sent_on", name="days"),
        CheckConstraint("status <> 'cancelled' OR reason <> ''", name="cancelled"),
        Index("ix_dispatches_planned_on_id", "planned_on", "id"),
    )

    code: Mapped[str] = mapped_column(String(24), unique=True)
    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"), index=True)
    #: Who takes the plants over; empty when our own crew plants them.
    recipient_id: Mapped[int | None] = mapped_column(ForeignKey("recipients.id"), index=True)
    status: Mapped[DispatchStatus] = mapped_column(
        choice(DispatchStatus, "dispatch_status"), default=DispatchStatus.PLANNED
    )
    planned_on: Mapped[dt.date]
    sent_on: Mapped[dt.date | None]
    vehicle: Mapped[str] = mapped_column(String(80), default="", server_default="")
    driver: Mapped[str] = mapped_column(String(80), default="", server_default="")
    received_on: Mapped[dt.date | None]
    #: ``HH:MM`` by the clock of the place; empty where nobody noted it.
    received_time: Mapped[str] = mapped_column(String(5), default="", server_default="")
    #: Name of the person who took it over.
    received_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    #: Why it went without a paper that applies, or why it was cancelled.
    reason: Mapped[str] = mapped_column(default="", server_default="")

    site: Mapped[Site] = relationship()
    recipient: Mapped[Recipient | None] = relationship()
    lines: Mapped[list[DispatchLine]] = relationship(
        back_populates="dispatch", order_by="DispatchLine.position, DispatchLine.id"
    )


class DispatchLine(Base):
    """Plants of one batch in a load."""

    __tablename__ = "dispatch_lines"
    __table_args__ = (
        UniqueConstraint("dispatch_id", "batch_id", "target_id"),
        at_least("plants", 1),
        at_least("trays", 0),
        CheckConstraint("sent BETWEEN 0 AND plants", name="sent"),
        CheckConstraint("received BETWEEN 0 AND sent", name="received"),
        CheckConstraint("substitutes_id IS NULL OR reason <> ''", name="substituted"),
    )

    dispatch_id: Mapped[int] = mapped_column(ForeignKey("dispatches.id"))
    #: Order of loading: what is planted first is loaded last.
    position: Mapped[int]
    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), index=True)
    target_id: Mapped[int | None] = mapped_column(ForeignKey("targets.id"), index=True)
    #: Size grade asked for; empty takes any.
    grade: Mapped[str] = mapped_column(String(20), default="", server_default="")
    #: Asked for, sent, and taken over.
    plants: Mapped[int]
    sent: Mapped[int | None]
    received: Mapped[int | None]
    #: Trays (or flats) in which they stand on the lorry, once papers or people say so or they are sent. Empty
    #: before that, for what stands in no trays, and for loads that left before trays were kept.
    trays: Mapped[int | None]
    #: The batch that this one stands in for, and why.
    substitutes_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    reason: Mapped[str] = mapped_column(default="", server_default="")
    #: Mark of the plant ledger's act by which they left.
    act: Mapped[str] = mapped_column(String(32), default="", server_default="", index=True)

    dispatch: Mapped[Dispatch] = relationship(back_populates="lines")
    batch: Mapped[Batch] = relationship(foreign_keys=[batch_id])
    substitutes: Mapped[Batch | None] = relationship(foreign_keys=[substitutes_id])
    target: Mapped[Target | None] = relationship()
    returns: Mapped[list[ReturnedPlants]] = relationship(back_populates="line", order_by="ReturnedPlants.id")
    fetched: Mapped[list[FetchedPlants]] = relationship(
        back_populates="line", order_by="FetchedPlants.id", cascade="all, delete-orphan"
    )


class FetchedPlants(Base):
    """Plants of a line that was sent, and the bench from which they were fetched."""

    __tablename__ = "fetched_plants"
    __table_args__ = (at_least("plants", 1), at_least("trays", 0))

    line_id: Mapped[int] = mapped_column(ForeignKey("dispatch_lines.id"), index=True)
    #: Empty where nobody knew on which bench they stood.
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"), index=True)
    plants: Mapped[int]
    #: Empty for what stands in no trays.
    trays: Mapped[int | None]

    line: Mapped[DispatchLine] = relationship(back_populates="fetched")
    bench: Mapped[Bench | None] = relationship()


class ReturnDecision(StrEnum):
    """What becomes of plants that came back."""

    BACK_IN_STOCK = "back-in-stock"
    DISCARDED = "discarded"


class ReturnedPlants(Base):
    """Plants of a load that came back; they stand apart until somebody decides what becomes of them.

    Plants that were missing when the load was taken over are written down here too, as discarded at once.
    """

    __tablename__ = "returned_plants"
    __table_args__ = (
        at_least("plants", 1),
        at_least("trays", 0),
        CheckConstraint(
            "(decision IS NULL AND decided_on IS NULL AND decided_by = '' AND decided_reason = '')"
            " OR (decision IS NOT NULL AND decided_on IS NOT NULL AND decided_by <> '' AND decided_reason <> '')",
            name="decided",
        ),
        CheckConstraint("decided_on >= returned_on", name="days"),
    )

    line_id: Mapped[int] = mapped_column(ForeignKey("dispatch_lines.id"), index=True)
    plants: Mapped[int]
    #: Trays in which they came back; empty where nobody wrote that down.
    trays: Mapped[int | None]
    returned_on: Mapped[dt.date]
    #: They never came to the site, and never came back.
    is_missing: Mapped[bool] = mapped_column(default=False, server_default=false())
    #: How they looked.
    condition: Mapped[str] = mapped_column(default="", server_default="")
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    decision: Mapped[ReturnDecision | None] = mapped_column(choice(ReturnDecision, "return_decision"))
    decided_on: Mapped[dt.date | None]
    decided_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    decided_reason: Mapped[str] = mapped_column(default="", server_default="")
    #: Mark of the plant ledger's act that followed the decision.
    act: Mapped[str] = mapped_column(String(32), default="", server_default="", index=True)

    line: Mapped[DispatchLine] = relationship(back_populates="returns")
