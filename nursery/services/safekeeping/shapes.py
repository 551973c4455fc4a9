"""Which tables and columns a database has, read from itself: an archive may be older than the models."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from sqlalchemy import Connection, inspect, types

#: The migrations' own table; an archive names its revision instead.
_NOT_KEPT = {"alembic_version"}


class Kind(StrEnum):
    """What a column holds, whatever its database calls it."""

    INTEGER = "integer"
    NUMBER = "number"
    TEXT = "text"
    BOOLEAN = "boolean"
    DATE = "date"
    MOMENT = "moment"
    JSON = "json"
    BYTES = "bytes"


_KINDS: Sequence[tuple[type[types.TypeEngine[Any]], Kind]] = (
    (types.Boolean, Kind.BOOLEAN),
    (types.DateTime, Kind.MOMENT),
    (types.Date, Kind.DATE),
    (types.JSON, Kind.JSON),
    (types.LargeBinary, Kind.BYTES),
    (types.Integer, Kind.INTEGER),
    (types.Numeric, Kind.NUMBER),
    (types.Float, Kind.NUMBER),
)


@dataclass(frozen=True, slots=True)
class Shape:
    """A table: its columns by name in the order of the alphabet, which both databases keep, and its key."""

    name: str
    columns: dict[str, Kind]
    key: tuple[str, ...]


def shapes(connection: Connection) -> list[Shape]:
    """Every table but the migrations' own, by name."""
    looked = inspect(connection)
    keys = {name: found["constrained_columns"] for (_, name), found in looked.get_multi_pk_constraint().items()}
    return sorted(
        (
            Shape(
                name,
                {
                    column["name"]: kind_of(column["type"])
                    for column in sorted(columns, key=lambda one: str(one["name"]))
                },
                tuple(keys[name]),
            )
            for (_, name), columns in looked.get_multi_columns().items()
            if name not in _NOT_KEPT
        ),
        key=lambda shape: shape.name,
    )


def kind_of(column_type: types.TypeEngine[object]) -> Kind:
    """What a column of this type holds; what has no kind of its own is text."""
    return next((kind for cls, kind in _KINDS if isinstance(column_type, cls)), Kind.TEXT)


def quoted(connection: Connection, name: str) -> str:
    """A name as this database writes it in a statement."""
    return connection.dialect.identifier_preparer.quote(name)
