"""What a person decided about a lot and a site, against or beside the rules."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base
from nursery.models.lots import Lot
from nursery.models.places import Site
from nursery.models.targets import Target
from nursery.models.types import UtcDateTime, at_least, choice, utc_now


class DecisionKind(StrEnum):
    """Pin: a lot serves a target. Forbid: it never serves a site. Override: it may, despite a stop."""

    PIN = "pin"
    FORBID = "forbid"
    OVERRIDE = "override"


_OF_SITE = text("withdrawn_at IS NULL AND target_id IS NULL")


class Decision(Base):
    """A decision stands until somebody withdraws it; both stay on record."""

    __tablename__ = "decisions"
    __table_args__ = (
        CheckConstraint("(kind = 'pin') = (target_id IS NOT NULL)", name="pin_of_target"),
        CheckConstraint("kind = 'pin' OR plants IS NULL", name="plants_of_pin"),
        at_least("plants", 1),
        CheckConstraint("reason <> ''", name="reason"),
        Index(
            "uq_decisions_standing", "lot_id", "site_id", "kind", "target_id", unique=True,
            sqlite_where=text("withdrawn_at IS NULL"), postgresql_where=text("withdrawn_at IS NULL"),
        ),
        # No two NULLs are equal: what is of a whole site needs an index of its own.
        Index(
            "uq_decisions_standing_of_site", "lot_id", "site_id", "kind", unique=True,
            sqlite_where=_OF_SITE, postgresql_where=_OF_SITE,
        ),
        Index("ix_decisions_site_id", "site_id"),
    )  # fmt: skip

    kind: Mapped[DecisionKind] = mapped_column(choice(DecisionKind, "decision_kind"))
    lot_id: Mapped[int] = mapped_column(ForeignKey("lots.id"))
    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"))
    #: Of a pin: the season's target it serves, and how many ready plants of it; empty for as many as it can give.
    target_id: Mapped[int | None] = mapped_column(ForeignKey("targets.id"), index=True)
    plants: Mapped[int | None]
    reason: Mapped[str]
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    withdrawn_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    withdrawn_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    withdrawal: Mapped[str] = mapped_column(default="", server_default="")

    lot: Mapped[Lot] = relationship()
    site: Mapped[Site] = relationship()
    target: Mapped[Target | None] = relationship()
