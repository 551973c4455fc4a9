"""The declarative base, names of constraints, and the columns every record carries."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import MetaData
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column

from nursery.models.types import UtcDateTime, utc_now

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """Every constraint has a name, so that a migration can change it."""

    metadata = MetaData(naming_convention=NAMES)

    id: Mapped[int] = mapped_column(primary_key=True, sort_order=-1)


class Record(Base):
    """A thing a person writes down: it is versioned against lost updates, and archived instead of deleted."""

    __abstract__ = True

    version: Mapped[int] = mapped_column(default=1, sort_order=100)
    created_at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now, sort_order=101)
    #: Set when the record is put aside; archived records stay in histories and leave lists and plans.
    archived_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime, sort_order=102)
    notes: Mapped[str] = mapped_column(default="", server_default="", sort_order=99)

    @declared_attr.directive
    @classmethod
    def __mapper_args__(cls) -> dict[str, Any]:
        """Refuse an update whose row has changed since it was read."""
        return {"version_id_col": cls.version}
