"""Bags as they are typed: row by row, or pasted as a table."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from werkzeug.datastructures import MultiDict

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Bag
from nursery.models.bags import Sex
from nursery.services.bags import MOST_BAGS, NewBag
from nursery.services.understanding import parse_number
from nursery.tabular.delimited import split
from nursery.tabular.headings import is_blank
from nursery.web.fields import clean, plain_number

_DECIMAL = re.compile(r"\d+(,\d+)?")
#: A weight that says its unit itself, as scales print it: ``1,2 kg``.
_WEIGHED = re.compile(r"(.*\d)\s*(kg|g)\.?", re.IGNORECASE)
COLUMNS = ("tag", "weight", "latitude", "longitude", "sex")
#: Milligrams in each unit that weights are typed in; a piece counts as a thousand.
UNITS = {"g": 1000, "kg": 1_000_000, "pieces": 1000}
_HEADINGS = {
    "tag": "tag", "bag": "tag", "mother": "tag", "tree": "tag", "plant": "tag", "etiqueta": "tag", "árvore": "tag",
    "weight": "weight", "mass": "weight", "peso": "weight", "massa": "weight", "masa": "weight",
    "number": "weight",
    "lat": "latitude", "latitude": "latitude", "lon": "longitude", "long": "longitude", "lng": "longitude",
    "longitude": "longitude", "sex": "sex", "sexo": "sex",
}  # fmt: skip
#: Units as a heading may name them, and those that are understood as one of `UNITS`.
_UNIT_WORDS = {
    "g": "g", "gr": "g", "gram": "g", "grams": "g", "gramas": "g", "gramos": "g",
    "kg": "kg", "kgs": "kg", "kilo": "kg", "kilos": "kg", "kilogram": "kg", "kilograms": "kg", "quilos": "kg",
    "quilogramas": "kg", "kilogramos": "kg",
    "pieces": "pieces", "cuttings": "pieces", "estacas": "pieces", "peças": "pieces", "piezas": "pieces",
    "estaquillas": "pieces",
    "mg": "mg", "t": "t", "lb": "lb", "lbs": "lb", "oz": "oz",
}  # fmt: skip
_SEXES = {
    "f": Sex.FEMALE, "female": Sex.FEMALE, "fem": Sex.FEMALE, "fêmea": Sex.FEMALE, "hembra": Sex.FEMALE,
    "♀": Sex.FEMALE, "m": Sex.MALE, "male": Sex.MALE, "macho": Sex.MALE, "♂": Sex.MALE,
}  # fmt: skip


@dataclass
class TypedRow:
    """One row of the form; texts as typed, errors by column."""

    tag: str = ""
    weight: str = ""
    latitude: str = ""
    longitude: str = ""
    sex: str = ""
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def is_blank(self) -> bool:
        """Whether nothing was typed."""
        return not any(getattr(self, column) for column in COLUMNS)


def stored_rows(bags: Sequence[Bag], unit: str) -> list[TypedRow]:
    """Bags as they would be typed."""
    return [
        TypedRow(
            bag.tag,
            plain_number(bag.weight_mg / UNITS[unit], 6),
            "" if bag.latitude is None else plain_number(bag.latitude, 6),
            "" if bag.longitude is None else plain_number(bag.longitude, 6),
            bag.sex or "",
        )
        for bag in bags
    ]


def typed_rows(form: MultiDict[str, str]) -> list[TypedRow]:
    """Rows of the posted form that are not blank."""
    columns = [form.getlist(column)[: MOST_BAGS + 1] for column in COLUMNS]
    rows = [
        _typed(dict(zip(COLUMNS, texts, strict=True))) for texts in itertools.zip_longest(*columns, fillvalue="")
    ]
    return [row for row in rows if not row.is_blank]


@dataclass(frozen=True, slots=True)
class Pasted:
    """Rows of a pasted table, and the unit of `UNITS` that its heading names; empty where it names none."""

    rows: list[TypedRow]
    unit: str = ""


def pasted_rows(text: str, *, counted: bool) -> Pasted:
    """A pasted table with headings, or in the order tag, weight, latitude, longitude, sex.

    Raises ``Invalid`` at ``paste`` for what is no table, and for a heading in a unit that the lot (``counted`` or
    weighed) is not kept in.
    """
    try:
        parted = _parted_by_blanks(text)
        cells = parted or [row for row in split(text.strip("\r\n"), _is_heading)[0] if not all(map(is_blank, row))]
    except Invalid as refused:
        raise Invalid({"paste": str(refused)}) from refused
    if cells and max(map(len, cells)) == 1:
        cells = [row[0].split() for row in cells]
    if not cells:
        raise Invalid({"paste": _("There is nothing to put into rows. Paste the table first.")})
    if len(cells) > MOST_BAGS + 1:
        raise Invalid({"paste": _("At most %(most)s bags fit.", most=MOST_BAGS)})
    order: Sequence[str | None] = COLUMNS
    unit = ""
    if sum(_is_heading(cell) for cell in cells[0]) >= min(2, len(cells[0])):
        headings = cells.pop(0)
        order = [_heading(cell)[0] for cell in headings]
        unit = next((_heading(cell)[1] for cell in headings if _heading(cell)[0] == "weight"), "")
        _refuse_unit(unit, headings, counted=counted)
    return Pasted([_row(dict(zip(order, row, strict=False))) for row in cells], unit)


def in_unit(pasted: Pasted, unit: str) -> list[TypedRow]:
    """The pasted rows with their weights as they are typed in ``unit``.

    Raises ``Invalid`` at ``paste`` for a weight that cannot be read and so not be converted.
    """
    if pasted.unit in {"", unit}:
        return pasted.rows
    for number, row in enumerate(pasted.rows, start=1):
        if row.weight and not _WEIGHED.fullmatch(row.weight):
            try:
                weight = parse_number(row.weight)
            except Invalid as refused:
                told = _("Row %(number)s: %(text)s", number=number, text=str(refused))
                raise Invalid({"paste": told}) from refused
            row.weight = plain_number(weight * UNITS[pasted.unit] / UNITS[unit], 6)
    return pasted.rows


def _refuse_unit(unit: str, headings: Sequence[str], *, counted: bool) -> None:
    if unit in ({"", "pieces"} if counted else {"", "g", "kg"}):
        return
    heading = next(cell.strip() for cell in headings if _heading(cell) == ("weight", unit))
    text = (
        _("The heading “%(heading)s” gives weights, but cuttings are counted. Give the number of each bag.")
        if counted
        else _(
            "The heading “%(heading)s” is in a unit that bags of seed are not weighed in. Give grams or kilograms."
        )
    )
    raise Invalid({"paste": text % {"heading": heading}})


def _parted_by_blanks(text: str) -> list[list[str]]:
    """Rows such as ``7 12,5``: the comma is the decimal mark, else bag "7 12" would weigh 5; empty for others.

    Where tags would then repeat (``Oak 1,5`` and ``Oak 2,7``) the comma stands between the cells after all.
    """
    rows = [line.split() for line in text.splitlines() if line.strip()]
    if not all(len(row) == 2 and _DECIMAL.fullmatch(row[1]) and "," not in row[0] for row in rows):
        return []
    return rows if len({row[0] for row in rows}) == len(rows) else []


def read_bags(rows: Sequence[TypedRow], unit: str) -> list[NewBag] | None:
    """The bags, or None with the errors in their rows."""
    bags = [_bag(row, unit) for row in rows]
    return None if any(row.errors for row in rows) else bags


def _bag(row: TypedRow, unit: str) -> NewBag:
    weighed = _WEIGHED.fullmatch(row.weight) if unit != "pieces" else None
    if weighed:
        unit = weighed[2].lower()
    numbers = dict(_numbers(row, weighed[1] if weighed else row.weight))
    weight = numbers["weight"]
    if weight is None and "weight" not in row.errors:
        row.errors["weight"] = _("The weight is missing.")
    if not row.tag:
        row.errors["tag"] = _("The tag is missing.")
    if unit == "pieces" and weight is not None and weight != int(weight):
        row.errors["weight"] = _("Pieces are whole. Leave the decimals out.")
    if weight is not None and not 0 < weight <= 1e9 / UNITS[unit]:
        row.errors["weight"] = _("The weight lies above 0, up to a tonne; cuttings are up to a million.")
        weight = None
    sex = None
    if row.sex:
        sex = _SEXES.get(row.sex.casefold())
        if sex is None:
            row.errors["sex"] = _("“%(text)s” is no sex. Choose female or male.", text=row.sex)
    milligrams = round((weight or 0) * UNITS[unit])
    return NewBag(row.tag, milligrams, numbers["latitude"], numbers["longitude"], sex)


def _numbers(row: TypedRow, weight: str) -> Iterator[tuple[str, float | None]]:
    for column, text in (("weight", weight), ("latitude", row.latitude), ("longitude", row.longitude)):
        number = None
        if text:
            try:
                number = parse_number(text)
            except Invalid as refused:
                row.errors[column] = str(refused)
        yield column, number


def _row(cells: Mapping[str | None, str]) -> TypedRow:
    row = _typed(cells)
    if sex := _SEXES.get(row.sex.casefold()):
        row.sex = sex.value
    return row


def _typed(cells: Mapping[Any, str]) -> TypedRow:
    tag, weight, latitude, longitude, sex = (clean(str(cells.get(column, ""))) for column in COLUMNS)
    return TypedRow(tag, weight, latitude, longitude, sex)


def _is_heading(cell: str) -> bool:
    return _heading(cell)[0] is not None


def _heading(cell: str) -> tuple[str | None, str]:
    """The column that a heading names, and the unit it gives: ``Weight (kg)``, ``peso em g``, ``kg``."""
    words = re.sub(r"[()\[\]/,:]", " ", cell).casefold().split()
    unit = _UNIT_WORDS.get(words[-1], "") if words else ""
    name = [word for word in words[: -1 if unit else None] if word not in {"in", "em", "en"}]
    if unit and not name:
        return "weight", unit
    return _HEADINGS.get(" ".join(name)), unit
