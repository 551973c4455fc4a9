"""The form of a calculator: from an address to the input of the service, and back with everything typed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from itertools import groupby
from typing import Any

from babel.support import LazyProxy
from werkzeug.datastructures import MultiDict

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.calculators.calculator import Calculator
from nursery.services.calculators.composite import Items, Record, read_fields
from nursery.services.calculators.fields import REQUIRED, Field, Flag
from nursery.web.calculators.controls import Control, Months, Row, Rows, is_place
from nursery.web.calculators.journey import PARTS
from nursery.web.coordinates import read_pair
from nursery.web.fields import clean

Texts = MultiDict[str, str]

#: Rows that a form opens with, and by how many more it grows.
ROWS, MORE = 6, 4


class CalculatorForm:
    """``payload`` is the input for the service; what cannot be read goes there as typed, to be refused there."""

    def __init__(self, calculator: Calculator, typed: Texts, *, more_rows: bool = False) -> None:
        self.calculator = calculator
        self.typed = typed
        self.more_rows = more_rows
        self.payload: dict[str, Any] = {}
        self.controls: dict[str, Control | Rows] = {}
        #: Names of the controls of each record, whose values are objects in the input.
        self.records: dict[str, list[str]] = {}
        self._errors: dict[str, str] = {}
        for declared in calculator.fields:
            if isinstance(declared, Items) and isinstance(declared.item, Record):
                self._add_rows(declared, declared.item)
            elif isinstance(declared, Record):
                self._add_record(declared)
            else:
                self._add(declared)

    @property
    def filled(self) -> bool:
        """Whether anything was typed."""
        return bool(self.payload)

    def parts(self) -> list[tuple[LazyProxy | str, list[tuple[bool, list[Control | Rows]]]]]:
        """Legends, each with its controls in order: runs of short ones, and long ones in between (True)."""
        parts = PARTS.get(self.calculator.name) or self._usual_parts()
        return [
            (legend, [(long, list(run)) for long, run in groupby(map(self.controls.__getitem__, names), is_long)])
            for legend, names in parts
        ]

    def refuse(self, errors: Mapping[str, str]) -> dict[str, str]:
        """Put the service's refusals at their controls; gives them by the control's id, for the page's head."""
        summary: dict[str, str] = {}
        for name, message in {**errors, **self._errors}.items():
            if name in self.records:
                summary.update(self._refuse_record(name, message))
                continue
            control = self.controls.get(name) or next(iter(self.controls.values()))
            if isinstance(control, Rows):
                summary.update(self._refuse_rows(control, message))
            else:
                control.errors.append(self._in_words(control.declared, message))
                told, label = control.errors[-1], str(control.label.text)
                summary[control.id] = told if told.startswith(label) else f"{label}: {told}"
        return summary

    def _usual_parts(self) -> list[tuple[LazyProxy | str, tuple[str, ...]]]:
        """Each record is a part of its own, and so is what stands outside of them."""
        inner = {name for names in self.records.values() for name in names}
        own = {field.name: field.label for field in self.calculator.fields if field.name in self.records}
        alone = tuple(name for name in self.controls if name not in inner)
        parts: list[tuple[LazyProxy | str, tuple[str, ...]]] = [
            (label, tuple(self.records[name])) for name, label in own.items()
        ]
        return [*parts, ("", alone)] if alone else parts

    def _add_record(self, declared: Record) -> None:
        """The fields of a record, named after it; together they are one value of the input."""
        names, values = [], {}
        for inner in declared.fields:
            name = f"{declared.name}-{inner.name}"
            text = clean(self.typed.get(name, ""))
            self.controls[name] = Control(inner, name, text)
            names.append(name)
            if text:
                values[inner.name] = "true" if isinstance(inner, Flag) else text
        self.records[declared.name] = names
        if values:
            self.payload[declared.name] = values

    def _refuse_record(self, name: str, message: str) -> dict[str, str]:
        """The service tells what is wrong in one sentence; here each wrong field of the record is marked."""
        declared = next(
            field for field in self.calculator.fields if isinstance(field, Record) and field.name == name
        )
        told: dict[str, str] = {}
        try:
            read_fields(declared.fields, self.payload.get(name, {}))
        except Invalid as refused:
            told = dict(refused.errors)
        if not told:
            empty = name not in self.payload
            told = {
                declared.fields[0].name: _("%(field)s must be filled in.", field=str(declared.label))
                if empty
                else message
            }
        summary = {}
        for inner, reason in told.items():
            control = self.controls[f"{name}-{inner}"]
            control.errors.append(reason)
            label = str(declared.label)
            summary[control.id] = (
                reason if reason.startswith(label) else f"{label}, {control.label.text}: {reason}"
            )
        return summary

    def _in_words(self, declared: Field, message: str) -> str:
        """People know a field by its label, programs by its name."""
        if declared.default is REQUIRED and declared.name not in self.payload:
            return _("%(field)s must be filled in.", field=str(declared.label))
        return message

    def _add(self, declared: Field) -> None:
        text = "\n".join(map(clean, self.typed.get(declared.name, "").splitlines())).strip()
        self.controls[declared.name] = Control(declared, declared.name, text)
        if not text:
            return
        self.payload[declared.name] = "true" if isinstance(declared, Flag) else text
        if is_place(declared):
            try:
                pair = read_pair(text)
            except ValueError as refused:
                self._errors[declared.name] = str(refused)
            else:
                self.payload[declared.name] = list(pair) if pair else text

    def _add_rows(self, declared: Items, record: Record) -> None:
        rows = [self._row(declared, record, number) for number in range(1, declared.most + 1)]
        values = [self._values(row) for row in rows]
        last = max((number for number, value in enumerate(values, start=1) if value), default=0)
        shown = min(declared.most, max(ROWS, last, self._asked() + (MORE if self.more_rows else 0)))
        self.controls[declared.name] = Rows(declared, record, declared.name, rows[:shown], declared.most - shown)
        if last:
            self.payload[declared.name] = [value for value in values if value]

    def _asked(self) -> int:
        text = self.typed.get("rows", "")
        return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else ROWS

    def _row(self, declared: Items, record: Record, number: int) -> Row:
        controls, months = [], []
        for inner in record.fields:
            name = f"{declared.name}-{number}-{inner.name}"
            if isinstance(inner, Items):
                months.append(Months(inner, name, [clean(text) for text in self.typed.getlist(name)]))
            else:
                controls.append(Control(inner, name, clean(self.typed.get(name, ""))))
        return Row(_("%(thing)s %(number)s", thing=str(record.label), number=number), controls, months)

    @staticmethod
    def _values(row: Row) -> dict[str, Any]:
        typed: dict[str, Any] = {one.declared.name: one.typed for one in row.controls if one.typed}
        ticked: dict[str, Any] = {one.declared.name: list(one.ticked) for one in row.months if any(one.ticked)}
        return {**typed, **ticked}

    def _refuse_rows(self, rows: Rows, message: str) -> dict[str, str]:
        """The service names the first wrong row; here each wrong cell is marked."""
        summary: dict[str, str] = {}
        for row in rows.rows:
            values = self._values(row)
            if not values:
                continue
            try:
                read_fields(rows.record.fields, values)
            except Invalid as refused:
                for cell in row:
                    reason = refused.errors.get(cell.declared.name)
                    if reason and cell.declared.name not in values:
                        reason = _("%(field)s must be filled in.", field=str(cell.declared.label))
                    if reason:
                        cell.errors.append(reason)
                        summary[cell.id] = f"{row.legend}: {reason}"
        if not summary:
            rows.errors.append(message if self.payload.get(rows.id) else _("Fill in at least one row."))
            summary[rows.rows[0].controls[0].id] = f"{rows.label.text}: {rows.errors[-1]}"
        return summary


def is_long(control: Control | Rows) -> bool:
    """Whether a control takes a line of its own."""
    return isinstance(control, Rows) or control.is_long


def typed_values(calculator: Calculator, values: Mapping[str, Any]) -> dict[str, str | list[str]]:
    """The words of an address that fill in a form, read the same in every language."""
    found: dict[str, str | list[str]] = {}
    for declared in calculator.fields:
        value = values.get(declared.name)
        if value is None or value is False:
            continue
        if is_place(declared):
            found[declared.name] = ", ".join(map(str, value))
            continue
        if isinstance(declared, Record):
            known = {key: one for key, one in value.items() if one is not None and one is not False}
            found |= {f"{declared.name}-{key}": typed_text(one) for key, one in known.items()}
            continue
        if isinstance(value, dict):
            found[declared.name] = json.dumps(value, ensure_ascii=False)
            continue
        if not (isinstance(declared, Items) and isinstance(declared.item, Record)):
            found[declared.name] = typed_text(value)
            continue
        for number, row in enumerate(value, start=1):
            for name, inner in row.items():
                if inner is not None:
                    text = list(map(str, inner)) if isinstance(inner, list) else typed_text(inner)
                    found[f"{declared.name}-{number}-{name}"] = text
    return found


def typed_text(value: Any) -> str:
    """A value as it can be typed; never with just three decimals, which look like thousands."""
    if value is True:
        return "true"
    if isinstance(value, (list, tuple)):
        return " ".join(map(typed_text, value))
    if not isinstance(value, float):
        return str(value)
    text = repr(value).removesuffix(".0")
    whole, _point, decimals = text.partition(".")
    return f"{whole}.{decimals}0" if len(decimals) == 3 else text
