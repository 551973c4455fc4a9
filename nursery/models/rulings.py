"""What an authority ruled about the purpose of a planting: whether the law on forest material reaches it."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base
from nursery.models.places import Site
from nursery.models.recipients import Recipient
from nursery.models.types import UtcDateTime, utc_now

_STANDING = text("withdrawn_at IS NULL")


class Ruling(Base):
    """What is planted at a site, or by a recipient, is not for forestry. It stands until somebody withdraws it."""

    __tablename__ = "rulings"
    __table_args__ = (
        CheckConstraint("(site_id IS NULL) <> (recipient_id IS NULL)", name="subject"),
        CheckConstraint("reason <> ''", name="reason"),
        CheckConstraint("(withdrawn_at IS NULL) = (withdrawal = '')", name="withdrawn"),
        Index(
            "uq_rulings_standing_of_site", "site_id", unique=True,
            sqlite_where=_STANDING, postgresql_where=_STANDING,
        ),
        Index(
            "uq_rulings_standing_of_recipient", "recipient_id", unique=True,
            sqlite_where=_STANDING, postgresql_where=_STANDING,
        ),
    )  # fmt: skip

    site_id: Mapped[int | None] = mapped_column(ForeignKey("sites.id"))
    recipient_id: Mapped[int | None] = mapped_column(ForeignKey("recipients.id"))
    #: Which authority ruled so, by which letter.
    reason: Mapped[str]
    ruled_on: Mapped[dt.date]
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    withdrawn_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    withdrawn_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    withdrawal: Mapped[str] = mapped_column(default="", server_default="")

    site: Mapped[Site | None] = relationship()
    recipient: Mapped[Recipient | None] = relationship()
