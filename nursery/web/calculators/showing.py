"""Values of a calculator as the reader's locale writes them, and the same calculation for other doors."""

from __future__ import annotations

import datetime as dt
import json
import math
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from nursery.i18n import format_date, format_number, format_percent, format_scientific, month_name
from nursery.i18n import gettext as _
from nursery.services.calculators.calculator import Calculator, Result
from nursery.services.calculators.composite import Items, Record
from nursery.services.calculators.fields import AUTO, Choice, Field

#: Figures that a result is shown with: more than any measurement of seed is good for.
FIGURES = 6
_MOST_DECIMALS = 12


def show(declared: Field, value: Any) -> str:
    """A value of a field, with its unit."""
    if value is None:
        return ""
    if isinstance(declared, Items):
        return ("\n" if isinstance(declared.item, Record) else "; ").join(
            show(declared.item, one) for one in value
        )
    if isinstance(declared, Record):
        parts = [show(field, value[field.name]) for field in declared.fields]
        return " · ".join(part for part in parts if part)
    if isinstance(declared, Choice):
        return str(declared.labels.get(value, value))
    if value == AUTO and declared.kind == "whole-or-auto":
        return _("the least cost of a filled cell")
    return month_name(value) if declared.name == "month" else show_value(declared.kind, value, declared.unit)


def show_value(kind: str, value: Any, unit: str = "") -> str:
    """A plain value by its kind."""
    if value is None:
        return _("does not apply")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if kind == "date":
        return format_date(dt.date.fromisoformat(value))
    if kind == "fraction":
        return _figures(value * 100, format_percent, value)
    if not isinstance(value, (int, float)):
        return json.dumps(value, ensure_ascii=False) if isinstance(value, dict) else str(value)
    text = format_number(value) if isinstance(value, int) else _figures(value, format_number, value)
    return f"{text} {unit}".rstrip()


def _figures(size: float, write: Any, value: float) -> str:
    """Six figures, but never fewer than all digits before the decimal mark."""
    if not size:
        return str(write(value))
    decimals = max(0, FIGURES - 1 - math.floor(math.log10(abs(size))))
    if decimals > _MOST_DECIMALS:
        return format_scientific(size) + (" %" if write is format_percent else "")
    return str(write(value, decimals))


@dataclass(frozen=True)
class Outcome:
    """What a page shows of a calculation."""

    values: list[tuple[str, str]]
    tables: list[tuple[Result, list[list[tuple[str, str]]]]]
    understood: list[tuple[str, str, str]]
    payload: str
    curl: str
    command: str

    @staticmethod
    def headings(result: Result) -> list[dict[str, Any]]:
        """Headings of a result that is a table."""
        return [
            {"label": column.label, "numeric": column.kind not in {"text", "date"}} for column in result.columns
        ]


def outcome(calculator: Calculator, given: dict[str, Any], found: dict[str, Any], address: str) -> Outcome:
    """The result in words, how the input was understood, and the input for the other doors."""
    understood = calculator.understand(given)
    payload = {name: value for name, value in understood.items() if name in given}
    line = json.dumps(payload, ensure_ascii=False)
    return Outcome(
        values=[(str(one.label), _result(one, found[one.name])) for one in calculator.results if not one.columns],
        tables=[
            (
                one,
                [[(column.kind, _cell(column, row)) for column in one.columns] for row in found[one.name]],
            )
            for one in calculator.results
            if one.columns
        ],
        understood=[
            (label, show(field, value), "" if was_given else _("left empty, so the usual value"))
            for label, field, value, was_given in _every_value(calculator, understood, given)
            if value is not None
        ],
        payload=json.dumps(payload, ensure_ascii=False, indent=2),
        curl=f"curl -H 'Content-Type: application/json' -d {shlex.quote(line)} {shlex.quote(address)}",
        command=f"printf '%s' {shlex.quote(line)} | nursery calc {calculator.name} --input -",
    )


def _every_value(
    calculator: Calculator, understood: dict[str, Any], given: dict[str, Any]
) -> Iterator[tuple[str, Field, Any, bool]]:
    """Label, field and value of each field, those of a record one by one; and whether it was given."""
    for field in calculator.fields:
        if isinstance(field, Record):
            for inner in field.fields:
                value = understood[field.name][inner.name]
                yield f"{field.label}: {inner.label}", inner, value or None, inner.name in given[field.name]
        else:
            yield str(field.label), field, understood[field.name], field.name in given


def _cell(column: Result, row: dict[str, Any]) -> str:
    return _result(column, row[column.name])


def _result(result: Result, value: Any) -> str:
    return str(result.labels[value]) if value in result.labels else show_value(result.kind, value, result.unit)
