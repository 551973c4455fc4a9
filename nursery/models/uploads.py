"""Files waiting for a person's yes."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import LargeBinary, String
from sqlalchemy.orm import Mapped, mapped_column

from nursery.models.base import Base
from nursery.models.types import UtcDateTime, utc_now


class Upload(Base):
    """A file that was previewed; its rows are written when confirmed, all or none."""

    __tablename__ = "uploads"

    #: ``populations``, ``lots``, ``sites`` or ``targets``.
    kind: Mapped[str] = mapped_column(String(20))
    file_name: Mapped[str] = mapped_column(String(200))
    #: SHA-256 of the content.
    digest: Mapped[str] = mapped_column(String(64), index=True)
    content: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    person: Mapped[str] = mapped_column(String(80))
    created_at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    confirmed_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
