"""Plant health: what was seen, what was shut off, what was treated, and the hygiene of the place."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base, Record
from nursery.models.batches import Batch, Bench
from nursery.models.places import Nursery
from nursery.models.types import UtcDateTime, at_least, choice, utc_now


class Finding(StrEnum):
    """What a walk round the benches found."""

    NOTHING = "nothing"
    PEST = "pest"
    DISEASE = "disease"
    DISORDER = "disorder"
    WEEDS = "weeds"
    ANIMALS = "animals"
    SUSPECTED_NOTIFIABLE = "suspected-notifiable"


class Scouting(Record):
    """One look at a batch, a bench or a whole nursery; photographs hang on it as attachments."""

    __tablename__ = "scoutings"
    __table_args__ = (
        at_least("plants_affected", 0),
        CheckConstraint(
            "batch_id IS NOT NULL OR bench_id IS NOT NULL OR nursery_id IS NOT NULL", name="somewhere"
        ),
        Index("ix_scoutings_seen_on_id", "seen_on", "id"),
    )

    seen_on: Mapped[dt.date]
    finding: Mapped[Finding] = mapped_column(choice(Finding, "finding"))
    #: In the person's own words: symptoms, suspected organism.
    description: Mapped[str] = mapped_column(default="", server_default="")
    plants_affected: Mapped[int | None]
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"), index=True)
    nursery_id: Mapped[int | None] = mapped_column(ForeignKey("nurseries.id"), index=True)
    person: Mapped[str] = mapped_column(String(80))
    #: When the authority was told of a suspected notifiable organism.
    reported_on: Mapped[dt.date | None]
    #: When the matter was over, and how it ended.
    closed_on: Mapped[dt.date | None]
    outcome: Mapped[str] = mapped_column(default="", server_default="")

    batch: Mapped[Batch | None] = relationship()
    bench: Mapped[Bench | None] = relationship()
    nursery: Mapped[Nursery | None] = relationship()


class Quarantine(Base):
    """A batch or a bench shut off: nothing leaves it until a person lifts it with a reason."""

    __tablename__ = "quarantines"
    __table_args__ = (
        CheckConstraint("(batch_id IS NULL) <> (bench_id IS NULL)", name="one_place"),
        CheckConstraint("reason <> ''", name="reason"),
        CheckConstraint("(lifted_at IS NULL) = (lifted_reason = '')", name="lifted"),
        Index(
            "uq_quarantines_batch", "batch_id", unique=True,
            sqlite_where=text("lifted_at IS NULL AND batch_id IS NOT NULL"),
            postgresql_where=text("lifted_at IS NULL AND batch_id IS NOT NULL"),
        ),
        Index(
            "uq_quarantines_bench", "bench_id", unique=True,
            sqlite_where=text("lifted_at IS NULL AND bench_id IS NOT NULL"),
            postgresql_where=text("lifted_at IS NULL AND bench_id IS NOT NULL"),
        ),
    )  # fmt: skip

    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"))
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"))
    scouting_id: Mapped[int | None] = mapped_column(ForeignKey("scoutings.id"), index=True)
    since: Mapped[dt.date]
    reason: Mapped[str]
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    lifted_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    lifted_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    lifted_reason: Mapped[str] = mapped_column(default="", server_default="")

    batch: Mapped[Batch | None] = relationship()
    bench: Mapped[Bench | None] = relationship()
    scouting: Mapped[Scouting | None] = relationship()


class Treatment(Record):
    """One use of a product, as the log of plant protection asks for it."""

    __tablename__ = "treatments"
    __table_args__ = (
        CheckConstraint("dose > 0", name="dose"),
        CheckConstraint("area_m2 > 0", name="area_m2"),
        CheckConstraint("water_l > 0", name="water_l"),
        CheckConstraint("reentry_at >= treated_at", name="reentry"),
        CheckConstraint(
            "batch_id IS NOT NULL OR bench_id IS NOT NULL OR nursery_id IS NOT NULL", name="somewhere"
        ),
        Index("ix_treatments_treated_at_id", "treated_at", "id"),
    )

    treated_at: Mapped[dt.datetime] = mapped_column(UtcDateTime)
    product: Mapped[str] = mapped_column(String(120))
    #: As printed on the label; empty for what needs none.
    registration_number: Mapped[str] = mapped_column(String(60), default="", server_default="")
    active_substance: Mapped[str] = mapped_column(String(120), default="", server_default="")
    dose: Mapped[float]
    #: As the label writes it: ``ml per l``, ``kg per ha`` …
    dose_unit: Mapped[str] = mapped_column(String(40))
    area_m2: Mapped[float | None]
    water_l: Mapped[float | None]
    against: Mapped[str] = mapped_column(String(120), default="", server_default="")
    #: Nobody goes in before, without the protection that the label asks for.
    reentry_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    applied_by: Mapped[str] = mapped_column(String(80))
    #: Number of the certificate that the person holds.
    certificate: Mapped[str] = mapped_column(String(60), default="", server_default="")
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"), index=True)
    nursery_id: Mapped[int | None] = mapped_column(ForeignKey("nurseries.id"), index=True)
    scouting_id: Mapped[int | None] = mapped_column(ForeignKey("scoutings.id"), index=True)

    batch: Mapped[Batch | None] = relationship()
    bench: Mapped[Bench | None] = relationship()
    nursery: Mapped[Nursery | None] = relationship()
    scouting: Mapped[Scouting | None] = relationship()


class HygieneCheck(Base):
    """The hygiene list, gone through once."""

    __tablename__ = "hygiene_checks"
    __table_args__ = (Index("ix_hygiene_checks_nursery_id_checked_on", "nursery_id", "checked_on"),)

    nursery_id: Mapped[int] = mapped_column(ForeignKey("nurseries.id"))
    checked_on: Mapped[dt.date]
    #: ``{point: "yes" | "no" | "not-here"}``.
    answers: Mapped[dict[str, Any]] = mapped_column(JSON)
    notes: Mapped[str] = mapped_column(default="", server_default="")
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)

    nursery: Mapped[Nursery] = relationship()
