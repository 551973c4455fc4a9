"""Columns, fields and results as JSON Schema (draft 2020-12), in the language now in force."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Any

from sqlalchemy import Integer
from sqlalchemy.orm import InstrumentedAttribute

from nursery.services.calculators.calculator import Result
from nursery.services.calculators.composite import Items, Record
from nursery.services.calculators.fields import REQUIRED, Choice, Date, Field, Flag, Number, Text, Whole
from nursery.services.interface.resources import Resource
from nursery.services.interface.rows import is_truth, link_key
from nursery.services.limits import Bounds
from nursery.services.listing import Column, Listing

Schema = dict[str, Any]
_KINDS: Mapping[str, Schema] = {
    "date": {"type": "string", "format": "date"},
    "moment": {"type": "string", "format": "date-time"},
    "season": {"type": "integer"},
    "year": {"type": "integer"},
    "amount": {"type": "number"},
    "percent": {"type": "number", "minimum": 0, "maximum": 1},
}
_RESULTS: Mapping[str, Schema] = {
    "number": {"type": ["number", "null"]},
    "whole": {"type": ["integer", "null"]},
    "fraction": {"type": ["number", "null"]},
    "text": {"type": ["string", "null"]},
    "choice": {"type": ["string", "null"]},
    "date": {"type": ["string", "null"], "format": "date"},
    "flag": {"type": ["boolean", "null"]},
    "months": {"type": "array", "items": {"type": "integer", "minimum": 1, "maximum": 12}},
}


def row_schema(resource: Resource, listing: Listing) -> Schema:
    """One row of a list."""
    properties: Schema = {"id": {"type": "integer"}}
    if listing.archives:
        properties["archived"] = {"type": "boolean"}
    for column in listing.columns:
        properties[column.key] = column_schema(listing, column)
        if (key := link_key(listing, column)) is not None:
            kind = "string" if key.endswith("_key") else "integer"
            properties[key] = {"type": [kind, "null"]}
    properties |= {one.name: result_schema(one) for one in resource.more}
    return _object(properties)


def column_schema(listing: Listing, column: Column) -> Schema:
    """One column of a list."""
    kind = dict(_KINDS.get(column.kind, {"type": "string"}))
    if is_truth(column):
        kind = {"type": "boolean"}
    elif column.kind == "number":
        kind = {"type": "integer" if isinstance(column.value.type, Integer) else "number"}
    elif column.kind == "choice":
        kind = {"type": "string", "enum": [str(key) for key in column.choices]}
    if _may_lack(listing, column):
        kind = {"anyOf": [kind, {"type": "null"}]} if "enum" in kind else {**kind, "type": [kind["type"], "null"]}
    unit = str(column.unit)
    return {**kind, "title": str(column.label), **({"description": unit} if unit else {})}


def _may_lack(listing: Listing, column: Column) -> bool:
    if column.nullable is not None:
        return column.nullable
    own = isinstance(column.value, InstrumentedAttribute) and column.value.class_ is listing.model
    return not own or bool(column.value.nullable)


def result_schema(result: Result) -> Schema:
    """One thing that comes out."""
    kind = dict(_RESULTS.get(result.kind, {}))
    if result.kind == "text" and result.labels:  # coded words, or a number that none of them says
        kind = {"type": ["string", "number", "null"]}
    if result.columns:
        kind = {"type": ["array", "null"], "items": results_schema(result.columns)}
    return {**kind, "title": str(result.label), **({"description": result.unit} if result.unit else {})}


def results_schema(results: Iterable[Result]) -> Schema:
    """All that comes out."""
    return _object({one.name: result_schema(one) for one in results})


def fields_schema(fields: Iterable[Field]) -> Schema:
    """What goes in: an object of fields, nothing beside them."""
    every = list(fields)
    return {
        "type": "object",
        "properties": {field.name: field_schema(field) for field in every},
        "required": [field.name for field in every if field.default is REQUIRED],
        "additionalProperties": False,
    }


def field_schema(field: Field) -> Schema:
    """One field. Text is taken for numbers too, as people write them; null is as good as nothing."""
    told: Schema = {"title": str(field.label)}
    words = " ".join(text for text in (str(field.help), field.unit and f"({field.unit})") if text)
    if words:
        told["description"] = words
    kind = _field_kind(field)
    if field.default is not REQUIRED:
        kind = {"anyOf": [kind, {"type": "null"}]}
    return {**kind, **told}


def _field_kind(field: Field) -> Schema:
    match field:
        case Number():
            kinds = ["integer" if isinstance(field, Whole) else "number", "string"]
            kind: Schema = {"type": kinds, **bounds_schema(field.bounds)}
        case Choice():
            kind = {"type": "string", "enum": [str(one) for one in field.choices]}
        case Flag():
            kind = {"type": "boolean"}
        case Date():
            kind = {"type": "string", "format": "date"}
        case Text():
            kind = {"type": "string", "maxLength": field.longest}
        case Items():
            items = field_schema(field.item)
            kind = {"type": ["array", "string"], "items": items, "minItems": field.least, "maxItems": field.most}
        case Record():
            kind = fields_schema(field.fields)
        case _:
            kind = {}
    return kind


def bounds_schema(bounds: Bounds) -> Schema:
    """A closed interval, or one without its ends."""
    return {
        "exclusiveMinimum" if bounds.above else "minimum": bounds.low,
        "exclusiveMaximum" if bounds.below else "maximum": bounds.high,
    }


def choices_of(parse: Any) -> list[str]:
    """The words that a filter knows; empty where they are the nursery's own."""
    return [str(one) for one in parse] if isinstance(parse, type) and issubclass(parse, StrEnum) else []


def _object(properties: Schema) -> Schema:
    return {"type": "object", "properties": properties, "required": list(properties)}
