"""Checks that the services of several nouns share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import inspect

from nursery.models import Base
from nursery.services.limits import Bounds


def beyond(values: Mapping[str, Any], bounds: Mapping[str, Bounds]) -> dict[str, str]:
    """Refusals of the values outside their bounds; what is not given is not refused."""
    found = {name: bound.refusal(values[name]) for name, bound in bounds.items() if values.get(name) is not None}
    return {name: message for name, message in found.items() if message}


def columns_of(row: Base) -> dict[str, Any]:
    """The present column values of a record."""
    return {name: getattr(row, name) for name in inspect(type(row)).columns.keys()}  # noqa: SIM118 -- no dict
