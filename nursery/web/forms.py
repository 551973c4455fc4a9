"""The base of all record forms: groups of fields, values for the services, refusals back at their fields."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from babel.support import LazyProxy
from wtforms import Form, HiddenField

from nursery.i18n import lazy as _l
from nursery.web.fields import NotesField


@dataclass(frozen=True)
class Group:
    """Fields that stand together; names in one tuple stand side by side on a wide screen."""

    legend: LazyProxy
    rows: Sequence[Sequence[str]]
    hint: LazyProxy | str = ""


class RefusableForm(Form):
    """A form that takes a service's refusals back at its fields."""

    def refuse(self, errors: Mapping[str, str]) -> None:
        """Put each message at its field; what belongs to none stands above the form."""
        for name, message in errors.items():
            field = self._fields.get(self.field_of(name))
            if field is None:
                self.form_errors.append(message)
            else:
                field.errors = [*field.errors, message]

    def field_of(self, column: str) -> str:
        """The field that a column's refusal belongs to; parts of a column have fields of their own."""
        return column.replace(".", "-")


class RecordForm(RefusableForm):
    """A form whose field names are the model's columns.

    Subclasses declare ``groups``; a field that is no column overrides ``values`` and ``stored``.
    """

    groups: ClassVar[Sequence[Group]] = ()

    version = HiddenField()
    notes = NotesField(_l("Notes"))

    @classmethod
    def stored(cls, row: Any) -> dict[str, Any]:
        """What to fill the form with for an existing record, beyond its columns."""
        del row
        return {}

    def values(self) -> dict[str, Any]:
        """Column values for the service."""
        return {name: field.data for name, field in self._fields.items() if name != "version"}

    @property
    def seen_version(self) -> int | None:
        """The version of the record that the person had before her."""
        sent = self.version.raw_data or [""]  # not the record's own, which stands in where nothing was sent
        text = str(sent[0])
        return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None

    def field_of(self, column: str) -> str:
        """The field that a column's refusal belongs to; ``species`` also means ``species_id``."""
        return column if column in self._fields else f"{column}_id"

    def understood(self) -> list[str]:
        """Sentences on what was made of texts that could be read in more than one way."""
        return [told for field in self if (told := getattr(field, "understood", ""))]

    def grouped(self) -> Iterator[tuple[Group, list[list[Any]]]]:
        """Groups with their fields, for the page; fields that no group names come last."""
        for group in self.groups:
            yield group, [[self._fields[name] for name in row] for row in group.rows]

    def labels(self) -> dict[str, str]:
        """Field labels by column, for histories."""
        return {name: field.label.text for name, field in self._fields.items()}

    def fact(self, column: str, value: Any) -> str:
        """A stored value as the record's own page shows it, with markup where a field has some."""
        field = self._fields[column]
        return field.fact(value) if value and hasattr(field, "fact") else self.show(column, value)

    def show(self, column: str, value: Any) -> str:
        """A stored value as the pages show it."""
        if value is None or value == "":
            return ""
        field = self._fields.get(column)
        return str(field.show(value)) if field is not None and hasattr(field, "show") else str(value)
