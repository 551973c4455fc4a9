"""A calculator: what goes in, what comes out, how in words, and after whom."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from babel.support import LazyProxy

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.calculators.composite import describe_field, read_fields
from nursery.services.calculators.fields import Field


@dataclass(frozen=True)
class Result:
    """One number that comes out; ``kind`` as for fields."""

    name: str
    label: LazyProxy
    kind: str = "number"
    unit: str = ""


@dataclass(frozen=True)
class Calculator:
    """``run`` takes the values by field name and gives plain JSON values by result name."""

    name: str
    title: LazyProxy
    fields: tuple[Field, ...]
    results: tuple[Result, ...]
    formula: LazyProxy
    source: LazyProxy
    run: Callable[..., dict[str, Any]]

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

    def describe(self) -> dict[str, Any]:
        """The calculator as plain values, in the language now in force."""
        return {
            "name": self.name,
            "title": str(self.title),
            "formula": str(self.formula),
            "source": str(self.source),
            "fields": [describe_field(field) for field in self.fields],
            "results": [
                {"name": one.name, "label": str(one.label), "kind": one.kind, "unit": one.unit}
                for one in self.results
            ],
        }


def _argument(name: str) -> str:
    """Field names that Python keeps for itself get an underscore."""
    return f"{name}_" if name == "from" else name
