"""Keyset paging: a page begins after a row, not after a count, so that it costs the same anywhere in a list.

Rows without a value come last in both directions; the record's id breaks ties. It works alike on SQLite and
PostgreSQL because the database's own null ordering is never relied on.
"""

from __future__ import annotations

import base64
import binascii
import datetime as dt
import json
import math
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Boolean, ColumnElement, Date, DateTime, Float, Integer, Numeric, Row, and_, case, cast, or_
from sqlalchemy.orm import InstrumentedAttribute
from sqlalchemy.types import TypeDecorator, TypeEngine

BIGGEST = 2**63 - 1


@dataclass(frozen=True)
class Cursor:
    """The place of one row in a sorted list."""

    value: Any
    row_id: int

    @property
    def text(self) -> str:
        """The cursor as it stands in an address."""
        value = self.value.isoformat() if isinstance(self.value, dt.date) else self.value
        packed = json.dumps([value, self.row_id], separators=(",", ":")).encode()
        return base64.urlsafe_b64encode(packed).decode().rstrip("=")

    @staticmethod
    def parse(text: str, key: SortKey) -> Cursor | None:
        """Read a cursor that fits the sort key; anything else counts as none."""
        try:
            value, row_id = json.loads(base64.urlsafe_b64decode(text + "=" * (-len(text) % 4)))
            if type(row_id) is not int or not 0 < row_id <= BIGGEST:
                return None
            return Cursor(None if value is None else _read(value, key.holds), row_id)
        except (ValueError, TypeError, binascii.Error, RecursionError):
            return None


def comparable(expression: Any) -> Any:
    """What rows are sorted by: yes and no as 1 and 0, since databases disagree on which of them is more."""
    return cast(expression, Integer) if isinstance(_plain(expression.type), Boolean) else expression


def _plain(type_: TypeEngine[Any]) -> TypeEngine[Any]:
    return type_.impl_instance if isinstance(type_, TypeDecorator) else type_


def _read(value: Any, holds: TypeEngine[Any]) -> Any:
    """A cursor's value as a column of that type holds it; ``ValueError`` where it could not."""
    if isinstance(holds, Integer | Numeric | Float):
        if type(value) not in (int, float) or not math.isfinite(value) or abs(value) > BIGGEST:
            raise ValueError("not a number that a column can hold")
        return value
    if not isinstance(value, str) or "\0" in value:
        raise ValueError("not a text that a column can hold")
    value.encode()  # a lone surrogate is a ValueError
    if isinstance(holds, DateTime):
        moment = dt.datetime.fromisoformat(value)
        if moment.tzinfo is None:
            raise ValueError("a moment without its time zone")
        return moment
    return dt.date.fromisoformat(value) if isinstance(holds, Date) else value


@dataclass(frozen=True)
class SortKey:
    """What a list is sorted by."""

    expression: ColumnElement[Any]
    row_id: InstrumentedAttribute[int]
    descending: bool
    nullable: bool

    @property
    def holds(self) -> TypeEngine[Any]:
        """The type of the values sorted by; how a column is written on the page says nothing of that."""
        return _plain(self.expression.type)

    @property
    def order(self) -> list[ColumnElement[Any]]:
        """ORDER BY of the list; without nulls the plain columns, so that an index serves."""
        value, row_id = (
            (self.expression.desc(), self.row_id.desc())
            if self.descending
            else (self.expression.asc(), self.row_id.asc())
        )
        return [self._lacking.asc(), value, row_id] if self.nullable else [value, row_id]

    @property
    def reversed_order(self) -> list[ColumnElement[Any]]:
        """ORDER BY of a walk backward."""
        value, row_id = (
            (self.expression.asc(), self.row_id.asc())
            if self.descending
            else (self.expression.desc(), self.row_id.desc())
        )
        return [self._lacking.desc(), value, row_id] if self.nullable else [value, row_id]

    @property
    def _lacking(self) -> ColumnElement[int]:
        return case((self.expression.is_(None), 1), else_=0)

    def after(self, cursor: Cursor) -> ColumnElement[bool]:
        """Rows that come after the cursor."""
        if cursor.value is None:
            return and_(self.expression.is_(None), _past(self.row_id, cursor.row_id, up=not self.descending))
        found = self._past_value(cursor, up=not self.descending)
        return or_(found, self.expression.is_(None)) if self.nullable else found

    def before(self, cursor: Cursor) -> ColumnElement[bool]:
        """Rows that come before the cursor."""
        if cursor.value is None:
            lacking = and_(self.expression.is_(None), _past(self.row_id, cursor.row_id, up=self.descending))
            return or_(self.expression.is_not(None), lacking)
        return self._past_value(cursor, up=self.descending)

    def _past_value(self, cursor: Cursor, *, up: bool) -> ColumnElement[bool]:
        tie = and_(self.expression == cursor.value, _past(self.row_id, cursor.row_id, up=up))
        return or_(_past(self.expression, cursor.value, up=up), tie)

    def cursor(self, row: Row[Any]) -> Cursor:
        """The place of a row read with this key."""
        return Cursor(row.sort_value, row.id)


def _past(
    expression: ColumnElement[Any] | InstrumentedAttribute[int], value: Any, *, up: bool
) -> ColumnElement[bool]:
    past: ColumnElement[bool] = expression > value if up else expression < value
    return past
