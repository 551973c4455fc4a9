"""A calculator: what goes in, what comes out, how in words, and after whom."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from babel.support import LazyProxy

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.calculators.composite import describe_field, read_fields
from nursery.services.calculators.fields import Field


@dataclass(frozen=True)
class Result:
    """One number that comes out; ``kind`` as for fields. A list of records has ``columns``."""

    name: str
    label: LazyProxy
    kind: str = "number"
    unit: str = ""
    columns: tuple[Result, ...] = ()
    #: What people read for codes.
    labels: Mapping[Any, LazyProxy] = field(default_factory=dict)

    def describe(self) -> dict[str, Any]:
        """The result as plain values."""
        described = {"name": self.name, "label": str(self.label), "kind": self.kind, "unit": self.unit}
        return {**described, "columns": [one.describe() for one in self.columns]} if self.columns else described


@dataclass(frozen=True)
class Calculator:
    """``run`` takes the values by field name and gives plain JSON values by result name.

    ``question`` is what it answers, in one sentence; ``example`` is an input of invented values to try it with.
    """

    name: str
    title: LazyProxy
    question: LazyProxy
    fields: tuple[Field, ...]
    results: tuple[Result, ...]
    formula: LazyProxy
    source: LazyProxy
    run: Callable[..., dict[str, Any]]
    example: Mapping[str, Any]

    def calculate(self, given: Mapping[str, Any]) -> dict[str, Any]:
        """The results for an input; `Invalid` with a message for each wrong field."""
        values = read_fields(self.fields, given)
        try:
            return self.run(**{_argument(name): value for name, value in values.items()})
        except (ValueError, OverflowError) as out_of_reach:
            # Each value is inside its bounds; together they run off the numbers a computer can count.
            raise Invalid(
                {
                    self.fields[0].name: _(
                        "These values together give a result too large to count."
                        " Check for a quantity far too large or a fraction far too small."
                    )
                }
            ) from out_of_reach

    def understand(self, given: Mapping[str, Any]) -> dict[str, Any]:
        """Every value of an input as it is understood, defaults among them, as plain JSON values."""
        return {name: _plain(value) for name, value in read_fields(self.fields, given).items()}

    def describe(self) -> dict[str, Any]:
        """The calculator as plain values, in the language now in force."""
        return {
            "name": self.name,
            "title": str(self.title),
            "question": str(self.question),
            "formula": str(self.formula),
            "source": str(self.source),
            "fields": [describe_field(field) for field in self.fields],
            "results": [one.describe() for one in self.results],
            "example": dict(self.example),
        }


def _argument(name: str) -> str:
    """Field names that Python keeps for itself get an underscore."""
    return f"{name}_" if name == "from" else name


def _plain(value: Any) -> Any:
    """A value as JSON holds it."""
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, StrEnum):
        return str(value)
    if isinstance(value, list):
        return [_plain(one) for one in value]
    if isinstance(value, dict):
        return {name: _plain(one) for name, one in value.items()}
    return value
