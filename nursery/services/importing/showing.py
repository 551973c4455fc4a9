"""Understood values in words, so that a person can check what was made of her cells."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

from nursery.catalog.reading import load_catalog
from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.services.importing.book import Book
from nursery.services.importing.columns import Column, Shape
from nursery.services.importing.text import shortened


def shown(column: Column, values: Mapping[str, Any], book: Book) -> str:
    """The value of a column as it was understood; empty when there is none."""
    value = values.get(column.key)
    if column.key == "amount_g" and values.get("amount_mg") is not None:
        value = values["amount_mg"] / 1000
    if value is None:
        return ""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    writer = _WRITERS.get(column.shape)
    return writer(value, column, book) if writer else shortened(value, 60)


def _number(value: float, _column: Column, _book: Book) -> str:
    return format_number(value, 6)


def _day(value: str, _column: Column, _book: Book) -> str:
    month, day = map(int, value.split("-"))
    return format_date(dt.date(2001, month, day), "d MMMM")


def _species(value: str, _column: Column, _book: Book) -> str:
    entry = load_catalog().species.get(value)
    return entry.scientific_name if entry else value


def _reference(value: int, column: Column, book: Book) -> str:
    return book.registers[column.refers_to].by_id[value].name


_WRITERS: dict[Shape, Callable[[Any, Column, Book], str]] = {
    Shape.NUMBER: _number,
    Shape.FRACTION: _number,
    Shape.PERCENT: _number,
    Shape.LATITUDE: _number,
    Shape.LONGITUDE: _number,
    Shape.DATE: lambda value, _column, _book: format_date(value),
    Shape.DAY: _day,
    Shape.SEASON: lambda value, _column, _book: f"{value}/{(value + 1) % 100:02d}",
    Shape.SPECIES: _species,
    Shape.REFERENCE: _reference,
}
