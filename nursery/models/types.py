"""Column types and the small checks that several tables share."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Any

from sqlalchemy import CheckConstraint, DateTime, Dialect, Enum, TypeDecorator


class UtcDateTime(TypeDecorator[dt.datetime]):
    """A moment, stored as UTC without zone and handed out aware."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, dialect: Dialect) -> dt.datetime | None:  # noqa: ARG002
        """Aware moments only; a naive one is a mistake in the code."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs its time zone")
        return value.astimezone(dt.UTC).replace(tzinfo=None)

    def process_result_value(self, value: Any, dialect: Dialect) -> dt.datetime | None:  # noqa: ARG002
        """Say that the stored moment is UTC."""
        return None if value is None else value.replace(tzinfo=dt.UTC)


def utc_now() -> dt.datetime:
    """The present moment, for time stamps only; planning gets its day passed in."""
    return dt.datetime.now(dt.UTC)


def choice(kind: type[StrEnum], name: str) -> Enum:
    """A column holding one of a fixed list of words, checked by the database."""
    return Enum(
        kind, name=name, native_enum=False, create_constraint=True, length=20,
        values_callable=lambda words: [word.value for word in words],
    )  # fmt: skip


def fraction(column: str, *, positive: bool = False) -> CheckConstraint:
    """0–1 (above 0 when ``positive``)."""
    low = f"{column} > 0" if positive else f"{column} >= 0"
    return CheckConstraint(f"{low} AND {column} <= 1", name=column)


def at_least(column: str, low: float) -> CheckConstraint:
    """A lower bound."""
    return CheckConstraint(f"{column} >= {low}", name=column)


def on_the_globe() -> tuple[CheckConstraint, CheckConstraint]:
    """Coordinates in degrees, WGS 84."""
    return (
        CheckConstraint("latitude BETWEEN -90 AND 90", name="latitude"),
        CheckConstraint("longitude BETWEEN -180 AND 180", name="longitude"),
    )
