"""Who changed what, and when."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import JSON, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from nursery.models.base import Base
from nursery.models.types import UtcDateTime, utc_now


class Change(Base):
    """One write by one person; rows are only ever added."""

    __tablename__ = "changes"
    __table_args__ = (Index("ix_changes_subject_subject_id", "subject", "subject_id"),)

    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    person: Mapped[str] = mapped_column(String(80))
    #: ``created``, ``changed``, ``archived``, ``restored``, ``imported``, ``adopted`` …
    action: Mapped[str] = mapped_column(String(20))
    #: Table of the record.
    subject: Mapped[str] = mapped_column(String(40))
    subject_id: Mapped[int]
    #: ``{field: [before, after]}``.
    details: Mapped[dict[str, Any]] = mapped_column(JSON)
