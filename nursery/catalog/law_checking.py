"""The check of ``seed_catalog/law``: every fault with its file, row, value and remedy."""

from __future__ import annotations

import dataclasses
import datetime as dt
import tomllib
import types
import typing
from pathlib import Path
from typing import Any

from nursery.catalog.law import LAW_BASES
from nursery.catalog.law_reading import FOLDER, KINDS, filled_rows
from nursery.catalog.law_words import CONCERNING, FIELD_LABELS, NOTICES, PAPERS, REASONS, SECTIONS
from nursery.catalog.messages import Message, Report
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l

#: Words that a column may hold, whatever the kind of file.
_CHOICES: dict[str, tuple[str, ...]] = {
    "basis": LAW_BASES,
    "scope": ("species", "genus", "hybrids"),
    "what": ("species-purity", "fair-share", "container-cm3"),
    "goods": ("seed", "plants"),
    "status": ("regulated", "free", "any"),
    "recipients": ("own", "professional", "final-user"),
    "only": ("", "seed", "populus-parts"),
    "paper": tuple(PAPERS),
    "reason": tuple(REASONS),
    "field": tuple(FIELD_LABELS),
    "section": tuple(SECTIONS),
    "subject": tuple(CONCERNING),
}
_ABOVE_ZERO = ("grams", "least", "least_height_cm", "least_collar_mm", "years")
_WANTED = {
    str: _l("Write a text in quotes."), bool: _l("Write true or false."), int: _l("Write a whole number."),
    float: _l("Write a number."), dt.date: _l("Write a date, such as 2003-01-01."),
    tuple: _l("Write a list of texts in quotes."),
}  # fmt: skip


def check_law(folder: Path) -> list[Message]:
    """All faults of the files below a catalogue folder; none where it has no law of its own."""
    messages: list[Message] = []
    keys: set[str] = set()
    tables: list[tuple[Path, dict[str, Any]]] = []
    for file in sorted((folder / FOLDER).glob("*.toml")):
        report = Report(f"{FOLDER}/{file.name}", messages)
        try:
            table = tomllib.loads(file.read_text(encoding="utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
            report.add("", str(error), _("Correct the TOML syntax; the file must be UTF-8."))
            continue
        report.table(table, "", required=("kind", "rows"), optional=("defaults",))
        report.text(table, "", "kind", tuple(KINDS))
        if table.get("kind") in KINDS and report.rows(table.get("rows"), "rows"):
            tables.append((file, table))
            if table["kind"] == "regimes":
                keys |= {str(row.get("key")) for row in filled_rows(table)}
    for file, table in tables:
        _check_rows(table, keys, Report(f"{FOLDER}/{file.name}", messages))
    return messages


def _check_rows(table: dict[str, Any], regimes: set[str], report: Report) -> None:
    record = KINDS[table["kind"]]
    columns = typing.get_type_hints(record)
    required = [one.name for one in dataclasses.fields(record) if one.default is dataclasses.MISSING]
    seen: dict[tuple[str, ...], int] = {}
    for number, row in enumerate(filled_rows(table), start=1):
        path = f"rows.{number}"
        report.table(row, path, required=required, optional=tuple(columns))
        for name, value in row.items():
            if name in columns:
                _check_value(name, value, columns[name], f"{path}.{name}", report)
        _check_row(table["kind"], row, regimes, path, report)
        same = tuple(str(row.get(name)) for name in columns if name not in {"where", "basis"})
        if same in seen:
            report.add(path, None, _("The row is the same as row %(number)s; keep one.", number=seen[same]))
        seen.setdefault(same, number)


def _check_value(name: str, value: Any, kind: Any, path: str, report: Report) -> None:
    kinds = typing.get_args(kind) if isinstance(kind, types.UnionType) else (kind,)
    wanted = typing.get_origin(kinds[0]) or kinds[0]
    good = {
        bool: isinstance(value, bool),
        int: isinstance(value, int) and not isinstance(value, bool),
        float: isinstance(value, int | float) and not isinstance(value, bool),
        dt.date: isinstance(value, dt.date) and not isinstance(value, dt.datetime),
        tuple: isinstance(value, list) and all(isinstance(one, str) for one in value),
    }.get(wanted, isinstance(value, str))
    if not good:
        report.add(path, value, str(_WANTED.get(wanted, _WANTED[str])))
        return
    for one in value if isinstance(value, list) else [value]:
        if name in _CHOICES and one not in _CHOICES[name]:
            report.add(path, one, _("Write one of %(choices)s.", choices=", ".join(_CHOICES[name])))


def _check_row(kind: str, row: dict[str, Any], regimes: set[str], path: str, report: Report) -> None:
    """What one column says of another."""
    if row.get("regime") and row["regime"] not in regimes:
        report.add(f"{path}.regime", row["regime"], _("No row of regimes.toml has this key; add one."))
    first, last = row.get("valid_from"), row.get("valid_to")
    if isinstance(first, dt.date) and isinstance(last, dt.date) and last < first:
        report.add(f"{path}.valid_to", last, _("The last day is before the first; correct one of them."))
    if not str(row.get("where", "")).strip():
        report.add(f"{path}.where", None, _("Say in which text it was read, or that it is recalled."))
    if kind == "notices" and row.get("key") not in NOTICES:
        report.add(f"{path}.key", row.get("key"), _("Write one of %(choices)s.", choices=", ".join(NOTICES)))
    numbers = [
        row[name] for name in ("grams", "least", "least_height_cm", "least_collar_mm", "years") if name in row
    ]
    if any(isinstance(number, int | float) and number <= 0 for number in numbers):
        report.add(path, min(numbers), _("Write a number above zero."))
    low, high = row.get("least_height_cm"), row.get("most_height_cm")
    if isinstance(low, int | float) and isinstance(high, int | float) and high <= low:
        report.add(
            f"{path}.most_height_cm", high, _("The tallest is not above the smallest; correct one of them.")
        )
