"""What this nursery has seen of a rate: successes among trials, batch by batch."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from nursery.models.base import Base
from nursery.models.types import UtcDateTime, at_least, utc_now


class Evidence(Base):
    """One batch's outcome at one stage; a wrong one is withdrawn with a reason, never deleted."""

    __tablename__ = "evidence"
    __table_args__ = (
        at_least("successes", 0),
        CheckConstraint("trials > 0", name="trials"),
        CheckConstraint("successes <= trials", name="successes_of_trials"),
        CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn"),
        Index("ix_evidence_species_id_rate", "species_id", "rate"),
    )

    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"))
    #: ``seed`` or ``cuttings``: rooting is not germination.
    part: Mapped[str] = mapped_column(String(10), default="seed", server_default="seed")
    #: A stage of the catalogue's rates: germination, emergence, establishment, hardening, cull …
    rate: Mapped[str] = mapped_column(String(30))
    successes: Mapped[float]
    trials: Mapped[float]
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lots.id"), index=True)
    happened_on: Mapped[dt.date]
    #: Where it was seen: a count in the nursery, a survey, a processing.
    source: Mapped[str] = mapped_column(String(120), default="", server_default="")
    person: Mapped[str] = mapped_column(String(80))
    created_at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    withdrawn_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    withdrawn_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    withdrawn_reason: Mapped[str] = mapped_column(default="", server_default="")
