"""Values as an archive writes them: one spelling for each, whichever database they come from.

Dates, moments and JSON stay the text that they are on SQLite; PostgreSQL is asked for the same text. Bytes and
numbers without end have no spelling in JSON, so they become an object, which no other value is.
"""

from __future__ import annotations

import base64
import json
import math
from collections.abc import Callable, Sequence
from typing import Any

from nursery.services.safekeeping.shapes import Kind

#: Length of a moment without fractions of a second, as a server default writes it.
_WHOLE_SECONDS = len("2026-11-25 10:00:00")


def as_line(values: Sequence[Any]) -> bytes:
    """One row as a line of JSON; the fingerprint is taken over these bytes."""
    return json.dumps(values, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode() + b"\n"


def writers(kinds: Sequence[Kind]) -> list[tuple[int, Callable[[Any], Any]]]:
    """For each column whose values need it, its place and what makes a plain value of the database's."""
    return [(place, _WRITERS[kind]) for place, kind in enumerate(kinds) if kind in _WRITERS]


def _number(value: Any) -> Any:
    if not isinstance(value, float):
        return value
    # Minus zero is zero on SQLite; adding zero makes it so everywhere.
    return value + 0.0 if math.isfinite(value) else {"number": repr(value)}


def _bytes(value: Any) -> Any:
    return (
        {"bytes": base64.b64encode(bytes(value)).decode("ascii")}
        if isinstance(value, (bytes, memoryview))
        else value
    )


def _boolean(value: Any) -> Any:
    return bool(value) if value in (0, 1) else value


def _moment(value: Any) -> Any:
    return f"{value}.000000" if isinstance(value, str) and len(value) == _WHOLE_SECONDS else value


def _json(value: Any) -> Any:
    # SQLite makes a number of a text that is one.
    return json.dumps(value) if isinstance(value, (int, float)) else value


_WRITERS: dict[Kind, Callable[[Any], Any]] = {
    Kind.NUMBER: lambda value: None if value is None else _number(value),
    Kind.BYTES: _bytes,
    Kind.BOOLEAN: lambda value: None if value is None else _boolean(value),
    Kind.MOMENT: _moment,
    Kind.JSON: _json,
    # Files from elsewhere may hold anything anywhere on SQLite.
    Kind.TEXT: _bytes,
    Kind.INTEGER: lambda value: _number(value) if isinstance(value, float) else value,
}


def read_line(line: bytes) -> list[Any]:
    """The values of a line, as both drivers take them."""
    values: list[Any] = json.loads(line)
    for place, value in enumerate(values):
        if isinstance(value, dict):
            values[place] = base64.b64decode(value["bytes"]) if "bytes" in value else float(value["number"])
    return values
