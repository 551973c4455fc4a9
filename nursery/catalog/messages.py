"""Messages of the catalogue check and the helpers that collect them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from nursery.i18n import gettext as _


@dataclass(frozen=True, slots=True)
class Message:
    """One fault: where it is, what stands there, and what to do about it."""

    file: str
    path: str
    value: str
    remedy: str

    def __str__(self) -> str:
        place = f"{self.file}: {self.path}" if self.path else self.file
        return f"{place} = {self.value}: {self.remedy}" if self.value else f"{place}: {self.remedy}"


class Report:
    """Collects the messages of one file."""

    def __init__(self, file: str, messages: list[Message]) -> None:
        self.file = file
        self.messages = messages

    def add(self, path: str, value: object, remedy: str) -> None:
        """Note one fault."""
        self.messages.append(Message(self.file, path, "" if value is None else str(value), remedy))

    def table(self, value: Any, path: str, *, required: Collection[str], optional: Collection[str] = ()) -> bool:
        """Whether ``value`` is a table; missing and unknown keys are noted."""
        if not isinstance(value, dict):
            self.add(path, value, _("Write a table of keys and values."))
            return False
        for key in required:
            if key not in value:
                self.add(_at(path, key), None, _("The key is missing; add it."))
        for key in value:
            if key not in required and key not in optional:
                known = ", ".join(sorted({*required, *optional}))
                self.add(_at(path, key), value[key], _("Unknown key; use one of %(known)s.", known=known))
        return True

    def text(self, table: dict[str, Any], path: str, key: str, choices: Collection[str] | None = None) -> None:
        """Note a value that is no text, is empty, or is none of the choices; a missing key is noted elsewhere."""
        if key not in table:
            return
        value = table[key]
        if not isinstance(value, str) or not value.strip():
            self.add(_at(path, key), value, _("Write a text in quotes."))
        elif choices is not None and value not in choices:
            self.add(_at(path, key), value, _("Write one of %(choices)s.", choices=", ".join(choices)))

    def texts(self, table: dict[str, Any], path: str, key: str, choices: Collection[str] | None = None) -> None:
        """Note a value that is no list of texts, or holds one that is none of the choices."""
        value = table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, str) and item.strip() for item in value):
            self.add(_at(path, key), value, _("Write a list of texts in quotes."))
            return
        for item in value:
            if choices is not None and item not in choices:
                self.add(_at(path, key), item, _("Write one of %(choices)s.", choices=", ".join(choices)))

    def rows(self, value: Any, path: str) -> list[Any]:
        """The value if it is a list with rows; otherwise note it and give none."""
        if isinstance(value, list) and value:
            return value
        self.add(path, value or None, _("Write at least one row."))
        return []


def _at(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key
