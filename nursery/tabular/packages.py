"""Data Packages of version 2 (https://datapackage.org): tables as CSV, and one file that says what they mean."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from nursery.tabular.writer import neutralise
from nursery.tabular.zipping import zipped

Value = str | int | float | bool | dt.date | None
Kind = Literal["string", "integer", "number", "fraction", "date", "boolean"]

_PROFILES = "https://datapackage.org/profiles/2.0/"


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name in the file, its title for people, and what its values mean."""

    name: str
    title: str
    kind: Kind = "string"
    about: str = ""
    required: bool = False
    #: Of a coded column: what each value stands for.
    words: Mapping[str, str] = field(default_factory=dict)
    #: Decimals with which people read its numbers; the file keeps all.
    digits: int = 0


@dataclass(frozen=True, slots=True)
class Link:
    """Columns whose values stand in the key of another table."""

    columns: tuple[str, ...]
    table: str
    to: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """Rows with all that is to be known about them; ``key`` columns tell rows apart."""

    name: str
    title: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[Value]]
    key: tuple[str, ...]
    links: Sequence[Link] = ()
    about: str = ""

    def at(self, name: str) -> int:
        """Position of a column."""
        return next(number for number, column in enumerate(self.columns) if column.name == name)

    def column(self, name: str) -> Column:
        """A column by its name."""
        return self.columns[self.at(name)]

    def values(self, name: str) -> list[Any]:
        """All values of a column."""
        number = self.at(name)
        return [row[number] for row in self.rows]

    def records(self) -> Iterator[dict[str, Any]]:
        """Rows by the names of their columns."""
        names = [column.name for column in self.columns]
        return (dict(zip(names, row, strict=True)) for row in self.rows)


@dataclass(frozen=True)
class Package:
    """What stands above the tables; licences and contributors as the properties of the standard."""

    name: str
    title: str
    about: str
    day: dt.date
    version: str
    language: str
    tables: Sequence[Table]
    contributors: Sequence[Mapping[str, Any]] = ()
    licences: Sequence[Mapping[str, str]] = ()


def write_package(package: Package, *, further: Mapping[str, bytes] | None = None) -> bytes:
    """The package as a zip; ``further`` files come along and are not described."""
    files = {"datapackage.json": json.dumps(describe(package), ensure_ascii=False, indent=1).encode()}
    files |= {f"data/{table.name}.csv": write_table(table) for table in package.tables}
    return zipped(files | dict(further or {}), package.day)


def describe(package: Package) -> dict[str, Any]:
    """``datapackage.json``."""
    told: dict[str, Any] = {
        "$schema": f"{_PROFILES}datapackage.json",
        "name": package.name,
        "title": package.title,
        "description": package.about,
        "version": package.version,
        "created": f"{package.day.isoformat()}T00:00:00Z",
        "languages": [package.language],
    }
    if package.contributors:
        told["contributors"] = [dict(one) for one in package.contributors]
    if package.licences:
        told["licenses"] = [dict(one) for one in package.licences]
    told["resources"] = [_resource(table) for table in package.tables]
    return told


def write_table(table: Table) -> bytes:
    """A table as UTF-8 CSV (RFC 4180); texts that a spreadsheet would calculate are neutralised, numbers never."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow([column.name for column in table.columns])
    writer.writerows([_plain(value) for value in row] for row in table.rows)
    return buffer.getvalue().encode()


def _resource(table: Table) -> dict[str, Any]:
    schema: dict[str, Any] = {
        "$schema": f"{_PROFILES}tableschema.json",
        "fields": [_field(column) for column in table.columns],
        "missingValues": [""],
        "primaryKey": list(table.key),
    }
    if table.links:
        schema["foreignKeys"] = [
            {"fields": list(link.columns), "reference": {"resource": link.table, "fields": list(link.to)}}
            for link in table.links
        ]
    return {
        "$schema": f"{_PROFILES}dataresource.json",
        "name": table.name,
        "title": table.title,
        **({"description": table.about} if table.about else {}),
        "path": f"data/{table.name}.csv",
        "type": "table",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"$schema": f"{_PROFILES}tabledialect.json", "lineTerminator": "\r\n"},
        "schema": schema,
    }


def _field(column: Column) -> dict[str, Any]:
    told: dict[str, Any] = {"name": column.name, "title": column.title}
    told["type"] = "number" if column.kind == "fraction" else column.kind
    if column.about:
        told["description"] = column.about
    limits: dict[str, Any] = {"required": True} if column.required else {}
    if column.kind == "fraction":
        limits |= {"minimum": 0, "maximum": 1}
    if column.words:
        limits["enum"] = list(column.words)
        told["categories"] = [{"value": value, "label": label} for value, label in column.words.items()]
    if limits:
        told["constraints"] = limits
    return told


def _plain(value: Value) -> str | int | float:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dt.date):
        return value.isoformat()
    return neutralise(value.replace("\0", "")) if isinstance(value, str) else value
