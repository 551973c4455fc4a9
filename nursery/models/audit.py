"""Who changed what, when and why, and the chain of seals over it."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from nursery.models.base import Base
from nursery.models.only_added import only_added
from nursery.models.types import UtcDateTime, utc_now


class Change(Base):
    """One write by one person; rows are only ever added."""

    __tablename__ = "changes"
    __table_args__ = (
        Index("ix_changes_subject_subject_id", "subject", "subject_id"),
        Index("ix_changes_person_id", "person", "id"),
    )

    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    person: Mapped[str] = mapped_column(String(80))
    #: The account that signed in; empty for the command line and for what was written before there were accounts.
    account_id: Mapped[int | None]
    #: ``created``, ``changed``, ``archived``, ``restored``, ``imported``, ``adopted`` …
    action: Mapped[str] = mapped_column(String(20))
    #: Table of the record.
    subject: Mapped[str] = mapped_column(String(40))
    subject_id: Mapped[int]
    #: ``{field: [before, after]}``.
    details: Mapped[dict[str, Any]] = mapped_column(JSON)
    #: Why, in the person's own words, where they were asked.
    reason: Mapped[str] = mapped_column(default="", server_default="")


class Seal(Base):
    """The link of the chain that holds one change: a hash of the change and of the seal before.

    ``id`` is the place in the chain, without gaps, in the order in which transactions ended. A change without a
    seal was written behind the product's back; a seal without its change means that somebody took that away.
    """

    __tablename__ = "seals"

    change_id: Mapped[int] = mapped_column(ForeignKey("changes.id"), unique=True)
    hash: Mapped[str] = mapped_column(String(64))


only_added(Base.metadata.tables["changes"])
only_added(Base.metadata.tables["seals"])
