"""Files beside a record: a permit's scan, a voucher, a photograph."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from sqlalchemy import Index, LargeBinary, String
from sqlalchemy.orm import Mapped, mapped_column

from nursery.models.base import Base
from nursery.models.types import UtcDateTime, at_least, choice, utc_now


class AttachmentKind(StrEnum):
    """What the file shows."""

    DOCUMENT = "document"
    PHOTO = "photo"
    VOUCHER = "voucher"


class Attachment(Base):
    """One file of one record; it is put aside, never deleted."""

    __tablename__ = "attachments"
    __table_args__ = (at_least("size", 1), Index("ix_attachments_subject_subject_id", "subject", "subject_id"))

    #: Table and id of the record.
    subject: Mapped[str] = mapped_column(String(40))
    subject_id: Mapped[int]
    kind: Mapped[AttachmentKind] = mapped_column(choice(AttachmentKind, "attachment_kind"))
    title: Mapped[str] = mapped_column(String(120), default="", server_default="")
    file_name: Mapped[str] = mapped_column(String(200))
    #: By content, not by the name.
    media_type: Mapped[str] = mapped_column(String(60))
    size: Mapped[int]
    #: SHA-256 of the content.
    digest: Mapped[str] = mapped_column(String(64))
    content: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    person: Mapped[str] = mapped_column(String(80))
    created_at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    archived_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
