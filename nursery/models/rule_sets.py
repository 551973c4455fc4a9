"""Rules of origin as data: named sets, each with versions that come into force on a day and are never changed."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, String, UniqueConstraint, false, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base, Record
from nursery.models.types import UtcDateTime, utc_now


class RuleSet(Record):
    """A set of rules that sites follow; exactly one is the set of every site that names none."""

    __tablename__ = "rule_sets"
    __table_args__ = (
        Index(
            "uq_rule_sets_default", "is_default", unique=True,
            sqlite_where=text("is_default"), postgresql_where=text("is_default"),
        ),
    )  # fmt: skip

    name: Mapped[str] = mapped_column(String(120), unique=True)
    is_default: Mapped[bool] = mapped_column(default=False, server_default=false())

    versions: Mapped[list[RuleVersion]] = relationship(
        back_populates="rule_set", order_by="RuleVersion.valid_from, RuleVersion.id"
    )


class RuleVersion(Base):
    """What a set says from a day on. Rows are only added: a change of the rules is a new version."""

    __tablename__ = "rule_versions"
    __table_args__ = (UniqueConstraint("rule_set_id", "valid_from"),)

    rule_set_id: Mapped[int] = mapped_column(ForeignKey("rule_sets.id"))
    valid_from: Mapped[dt.date]
    #: ``{rule: {differs|caution|stop, unknown, basis, text}}``; see ``nursery.planning.origin.rules``.
    rules: Mapped[dict[str, Any]] = mapped_column(JSON)
    reason: Mapped[str] = mapped_column(default="", server_default="")
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)

    rule_set: Mapped[RuleSet] = relationship(back_populates="versions")
