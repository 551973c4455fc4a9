"""Tests of seed quality; the latest valid one rules its lot."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base
from nursery.models.lots import Lot
from nursery.models.types import UtcDateTime, at_least, choice, utc_now


class TestKind(StrEnum):
    """What is tested."""

    __test__ = False  # the name is the trade's; pytest need not collect it

    GERMINATION = "germination"
    CUT = "cut"
    TETRAZOLIUM = "tetrazolium"
    PURITY = "purity"
    WEIGHT = "weight"
    MOISTURE = "moisture"


class SeedTest(Base):
    """One test of one lot, kept with its raw counts or weights; a wrong one is withdrawn with a reason."""

    __tablename__ = "seed_tests"
    __table_args__ = (
        CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn"),
        at_least("days", 1),
        Index("ix_seed_tests_lot_id_tested_on", "lot_id", "tested_on"),
    )

    lot_id: Mapped[int] = mapped_column(ForeignKey("lots.id"))
    kind: Mapped[TestKind] = mapped_column(choice(TestKind, "test_kind"))
    tested_on: Mapped[dt.date]
    person: Mapped[str] = mapped_column(String(80))
    #: Raw counts or weights as they were written down.
    readings: Mapped[dict[str, Any]] = mapped_column(JSON)
    #: Fraction (germination, viability, purity), grams per thousand (weight) or per cent (moisture).
    result: Mapped[float]
    low: Mapped[float | None]
    high: Mapped[float | None]
    #: Whether the replicates agree as the handbooks ask; a refused test is to be repeated and rules nothing.
    is_accepted: Mapped[bool]
    #: Range found and allowed, or coefficient of variation found and allowed, in the words of the test.
    verdict: Mapped[dict[str, Any]] = mapped_column(JSON)
    #: Days counted, temperature regime and pretreatment of a germination test.
    days: Mapped[int | None]
    regime: Mapped[str] = mapped_column(String(80), default="", server_default="")
    pretreatment: Mapped[str] = mapped_column(String(120), default="", server_default="")
    notes: Mapped[str] = mapped_column(default="", server_default="")
    created_at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    withdrawn_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    withdrawn_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    withdrawn_reason: Mapped[str] = mapped_column(default="", server_default="")

    lot: Mapped[Lot] = relationship()
