"""Fields made of fields: lists, records, and the whole input of a calculator."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from nursery.errors import Invalid
from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.services.calculators.fields import REQUIRED, Field, Refused, shown


@dataclass(frozen=True)
class Items(Field):
    """A list of values of one kind; text is cut at blanks and semicolons."""

    item: Field = REQUIRED
    least: int = 1
    most: int = 10_000

    kind = "list"

    def read(self, value: Any) -> list[Any]:
        """The values understood; a refusal names the place in the list."""
        if isinstance(value, str):
            value = [part for part in re.split(r"[\s;]+|,\s+", value) if part]
        if not isinstance(value, (list, tuple)):
            raise Refused(_("%(value)s is not a list. Give one in brackets.", value=shown(value)))
        if not self.least <= len(value) <= self.most:
            raise Refused(self._wrong_length(len(value)))
        return [self._read_one(place, one) for place, one in enumerate(value, start=1)]

    def _wrong_length(self, length: int) -> str:
        bounds = {name: format_number(n) for name, n in (("least", self.least), ("most", self.most))}
        held = ngettext("The list holds %(num)s value.", "The list holds %(num)s values.", length)
        if self.least == self.most:
            return " ".join([held, _("Give %(least)s.", **bounds)])
        return " ".join([held, _("Give from %(least)s to %(most)s.", **bounds)])

    def _read_one(self, place: int, value: Any) -> Any:
        try:
            return self.item.read(value)
        except Refused as refused:
            raise Refused(_("Number %(place)s: %(reason)s", place=place, reason=str(refused))) from None

    def limits(self) -> dict[str, Any]:
        """Length of the list and what it holds."""
        return {"least": self.least, "most": self.most, "item": describe_field(self.item)}


@dataclass(frozen=True)
class Record(Field):
    """An object with fields of its own."""

    fields: tuple[Field, ...] = ()

    kind = "record"

    def read(self, value: Any) -> dict[str, Any]:
        """Its values by name; a refusal names the inner field."""
        if not isinstance(value, Mapping):
            names = ", ".join(field.name for field in self.fields)
            raise Refused(
                _("%(value)s is not an object. Give one with: %(names)s.", value=shown(value), names=names)
            )
        try:
            return read_fields(self.fields, value)
        except Invalid as invalid:
            reasons = "; ".join(f"{name}: {message}" for name, message in invalid.errors.items())
            raise Refused(reasons) from None

    def limits(self) -> dict[str, Any]:
        """Its fields."""
        return {"fields": [describe_field(field) for field in self.fields]}


def read_fields(fields: Iterable[Field], given: Mapping[str, Any]) -> dict[str, Any]:
    """All values of an input by field name, or `Invalid` with a message for each field that is wrong.

    A field that is absent, null or blank takes its default.
    """
    known = {field.name: field for field in fields}
    errors = {name: _unknown(name, known) for name in map(str, given) if name not in known}
    values: dict[str, Any] = {}
    for name, field in known.items():
        value = given.get(name)
        if value is None or (isinstance(value, str) and not value.strip()):
            values[name] = field.default
            if field.default is REQUIRED:
                errors[name] = _("“%(name)s” is missing. Give: %(label)s.", name=name, label=str(field.label))
            continue
        try:
            values[name] = field.read(value)
        except Refused as refused:
            errors[name] = str(refused)
    if errors:
        raise Invalid(errors)
    return values


def describe_field(field: Field) -> dict[str, Any]:
    """A field as plain values, in the language now in force."""
    described = {
        "name": field.name,
        "label": str(field.label),
        "kind": field.kind,
        "unit": field.unit,
        "help": str(field.help),
        "required": field.default is REQUIRED,
        **field.limits(),
    }
    if field.default is not REQUIRED:
        described["default"] = field.default
    return described


def _unknown(name: str, known: Mapping[str, Field]) -> str:
    near = get_close_matches(name, known, n=1)
    if near:
        return _("There is no field “%(name)s” here. “%(near)s” may be meant.", name=name[:40], near=near[0])
    names = ", ".join(known)
    return _("There is no field “%(name)s” here. Fields are: %(names)s.", name=name[:40], names=names)
