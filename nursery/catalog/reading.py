"""Reading the catalogue's files into records."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from nursery import resources
from nursery.catalog.building import build_entry, collect_figures
from nursery.catalog.entries import Catalog, Evidence, Source, SpeciesEntry
from nursery.errors import Invalid
from nursery.i18n import gettext as _

# Evidence is most of a file and rarely wanted, so the parser sees it only when somebody asks.
EVIDENCE_HEADING = "\n[evidence]\n"


def load_catalog() -> Catalog:
    """The shipped catalogue, read once a process."""
    return _load(resources.seed_catalog())


@lru_cache
def _load(folder: Path) -> Catalog:
    entries = sorted(_entries(folder), key=lambda entry: entry.scientific_name)
    return Catalog(folder=folder, species={entry.key: entry for entry in entries})


def _entries(folder: Path) -> Iterator[SpeciesEntry]:
    for file in sorted((folder / "species").glob("*.toml")):
        try:
            record = read_record(file)
            yield build_entry(file, record, collect_figures(record))
        except (KeyError, TypeError, ValueError) as error:  # tomllib's error is a ValueError
            message = _(
                "The species file %(file)s cannot be read (%(error)s); run “nursery catalog check”.",
                file=file.name,
                error=str(error),
            )
            raise Invalid({file.name: message}) from error


def read_record(file: Path) -> dict[str, Any]:
    """The file without its evidence."""
    return tomllib.loads(file.read_text(encoding="utf-8").partition(EVIDENCE_HEADING)[0])


def read_evidence(file: Path) -> tuple[Evidence, ...]:
    """The evidence rows of one species file."""
    return tuple(_evidence(row) for row in read_evidence_rows(file))


def read_evidence_rows(file: Path) -> list[dict[str, Any]]:
    """The evidence rows as written."""
    rows: list[dict[str, Any]] = tomllib.loads(file.read_text(encoding="utf-8").partition(EVIDENCE_HEADING)[2])[
        "rows"
    ]
    return rows


def _evidence(row: Mapping[str, Any]) -> Evidence:
    return Evidence(
        field=row["field"],
        value=row["value"],
        unit=row["unit"],
        source=row.get("source", ""),
        where=row["where"],
        memory=row.get("memory", False),
    )


def read_sources(folder: Path) -> dict[str, Source]:
    """The cited works by short name."""
    table = tomllib.loads((folder / "sources.toml").read_text(encoding="utf-8"))
    return {short: Source(short, entry["reference"], entry["url"]) for short, entry in table.items()}
