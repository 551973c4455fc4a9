"""The check of a catalogue folder: every fault with its file, place, value and remedy, none of them fatal."""

from __future__ import annotations

import tomllib
from collections import defaultdict
from pathlib import Path
from typing import Any

from nursery.catalog.checking_species import check_species
from nursery.catalog.law_checking import check_law
from nursery.catalog.messages import Message, Report
from nursery.catalog.naming import plain
from nursery.catalog.reading import read_record
from nursery.i18n import gettext as _

SOURCES_FILE = "sources.toml"


def check(folder: Path) -> list[Message]:
    """All faults of a catalogue folder, by file; an empty list means that it may be used."""
    messages: list[Message] = []
    sources = _check_sources(folder / SOURCES_FILE, messages)
    files = sorted((folder / "species").glob("*.toml"))
    if not files:
        messages.append(Message("species", "", "", _("Put one TOML file per taxon into this folder.")))
    names: dict[str, list[tuple[str, str, str]]] = defaultdict(list)
    for file in files:
        record = _parsed(file, messages)
        if record is None:
            continue
        report = Report(file.name, messages)
        check_species(file.stem, record, sources, report)
        if "evidence" in record and not _evidence_last(file, record):
            remedy = _("Put the line [evidence] by itself, as the last table of the file.")
            report.add("evidence", None, remedy)
        for path, name in _scientific_names(record):
            names[plain(name)].append((file.name, path, name))
    _check_names(names, messages)
    messages += check_law(folder)
    return sorted(messages, key=lambda message: message.file)


def _parsed(file: Path, messages: list[Message]) -> dict[str, Any] | None:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
        messages.append(Message(file.name, "", str(error), _("Correct the TOML syntax; the file must be UTF-8.")))
        return None


def _evidence_last(file: Path, record: dict[str, Any]) -> bool:
    """Whether the reader, which leaves the evidence for later, finds all the rest."""
    try:
        read = read_record(file)
    except tomllib.TOMLDecodeError:
        return False
    return "evidence" not in read and {**read, "evidence": record["evidence"]} == record


def _check_sources(file: Path, messages: list[Message]) -> frozenset[str]:
    table = _parsed(file, messages)
    if table is None:
        return frozenset()
    report = Report(file.name, messages)
    for short, entry in table.items():
        if report.table(entry, short, required={"reference", "url"}):
            report.text(entry, short, "reference")
            report.text(entry, short, "url")
    return frozenset(table)


def _scientific_names(record: dict[str, Any]) -> list[tuple[str, str]]:
    synonyms = record.get("synonyms", [])
    named = [("scientific_name", record.get("scientific_name"))]
    named += [("synonyms", name) for name in (synonyms if isinstance(synonyms, list) else [])]
    return [(path, name) for path, name in named if isinstance(name, str)]


def _check_names(names: dict[str, list[tuple[str, str, str]]], messages: list[Message]) -> None:
    for places in names.values():
        for file, path, name in places[1:]:
            remedy = _("The name is already in %(file)s; keep it in one place.", file=places[0][0])
            messages.append(Message(file, path, name, remedy))
