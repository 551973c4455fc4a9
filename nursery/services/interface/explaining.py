"""Columns and fields for people: name, meaning, and what may stand there."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.services.calculators.calculator import Result
from nursery.services.calculators.composite import Items, Record
from nursery.services.calculators.fields import REQUIRED, Choice, Field, Number, Text, Whole
from nursery.services.interface.rows import is_truth, link_key
from nursery.services.listing import Column, Listing


class Told(NamedTuple):
    """One name as a program writes it, what it means, and what stands there."""

    name: str
    label: str
    holds: str
    needed: bool = False


def explain_listing(listing: Listing, more: Iterable[Result]) -> dict[str, Any]:
    """Columns of a list, what it can be narrowed by and sorted by."""
    columns = [Told("id", _("Number of the record"), _("whole number"))]
    if listing.archives:
        columns.append(Told("archived", _("Put aside"), _kinds()["flag"]))
    for column in listing.columns:
        columns.append(Told(column.key, str(column.label), _with_unit(_column_holds(column), column.unit)))
        if (key := link_key(listing, column)) is not None:
            columns.append(Told(key, str(column.label), _("the record it points at")))
    return {
        "columns": [*columns, *explain_results(more)],
        "asked": [Told(one.key, str(one.label), "") for one in listing.filters],
        "sorts": [column.key for column in listing.columns if column.sortable],
    }


def explain_results(results: Iterable[Result]) -> list[Told]:
    """What comes out."""
    return [
        Told(one.name, str(one.label), _with_unit(_codes(one.labels) or _kinds().get(one.kind, ""), one.unit))
        for one in results
    ]


def explain_field(field: Field) -> Told:
    """What goes in."""
    holds = " ".join(text for text in (_with_unit(_field_holds(field), field.unit), str(field.help)) if text)
    return Told(field.name, str(field.label), holds, field.default is REQUIRED)


def _field_holds(field: Field) -> str:
    match field:
        case Number():
            holds = _number_holds(field)
        case Choice():
            holds = _codes(field.choices)
        case Items():
            holds = _("list of: %(items)s", items=_field_holds(field.item))
        case Record():
            holds = ", ".join(each.name for each in field.fields)
        case Text():
            holds = _("text, up to %(most)s characters", most=field.longest)
        case _:
            holds = _kinds()[field.kind]
    return holds


def _number_holds(field: Number) -> str:
    kind = _("whole number") if isinstance(field, Whole) else _("number")
    low, high = format_number(field.bounds.low), format_number(field.bounds.high)
    return _("%(kind)s, %(low)s to %(high)s", kind=kind, low=low, high=high)


def _column_holds(column: Column) -> str:
    if is_truth(column):
        return _kinds()["flag"]
    if column.kind == "choice":
        # A day of the year has a word for each: too many to be read.
        return _codes(column.choices) if len(column.choices) < 40 else _("month and day, such as 11-01")
    return _kinds().get(column.kind, _("text"))


def _codes(codes: Iterable[Any]) -> str:
    return ", ".join(str(one) for one in codes if one is not None)


def _with_unit(holds: str, unit: Any) -> str:
    return f"{holds} ({unit})" if holds and str(unit) else holds


def _kinds() -> dict[str, str]:
    share, number = _("share of the whole, 0 to 1"), _("number")
    whole, day = _("whole number"), _("day, such as 2027-11-15")
    return {
        "date": day, "moment": _("day and time"), "season": _("year in which the season begins"), "year": whole,
        "amount": number, "number": number, "percent": share, "fraction": share, "whole": whole,
        "flag": _("true or false"), "months": _("list of months, 1 to 12"), "text": _("text"), "code": _("text"),
        "taxon": _("scientific name"), "choice": _("text"),
    }  # fmt: skip
