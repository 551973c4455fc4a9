"""Reading ``seed_catalog/law`` into records."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from nursery import resources
from nursery.catalog.law import (
    HostFlag,
    Law,
    Member,
    Notice,
    PaperField,
    PaperRule,
    PlantSize,
    QualityFloor,
    Regime,
    Regulated,
    Row,
    SmallQuantity,
    ZoneHost,
)
from nursery.errors import Invalid
from nursery.i18n import gettext as _

FOLDER = "law"
#: The record of each kind of file.
KINDS: dict[str, type[Row]] = {
    "regimes": Regime, "notices": Notice, "members": Member, "species": Regulated,
    "small-quantities": SmallQuantity, "plant-sizes": PlantSize, "quality": QualityFloor, "hosts": HostFlag,
    "protected-zones": ZoneHost,
    "papers": PaperRule, "particulars": PaperField,
}  # fmt: skip


def load_law() -> Law:
    """The shipped rows, read once a process."""
    return read_law(resources.seed_catalog() / FOLDER)


@lru_cache(maxsize=8)
def read_law(folder: Path) -> Law:
    """All files of a folder.

    Raises
    ------
    Invalid
        Naming the file and the row that cannot be read.
    """
    found: dict[str, list[Row]] = {kind: [] for kind in KINDS}
    for file in sorted(folder.glob("*.toml")):
        try:
            table = tomllib.loads(file.read_text(encoding="utf-8"))
            found[table["kind"]].extend(_records(table))
        except (KeyError, TypeError, ValueError) as error:  # tomllib's error is a ValueError
            message = _(
                "The file of the law %(file)s cannot be read (%(error)s); run “nursery catalog check”.",
                file=file.name,
                error=str(error),
            )
            raise Invalid({file.name: message}) from error
    rows: dict[str, Any] = {kind.replace("-", "_"): tuple(records) for kind, records in found.items()}
    return Law(**rows)


def filled_rows(table: dict[str, Any]) -> list[dict[str, Any]]:
    """The rows of a file with its defaults."""
    return [{**table.get("defaults", {}), **row} for row in table["rows"]]


def _records(table: dict[str, Any]) -> Iterator[Row]:
    record: Any = KINDS[table["kind"]]
    for number, row in enumerate(filled_rows(table), start=1):
        values = {name: tuple(value) if isinstance(value, list) else value for name, value in row.items()}
        try:
            yield record(**values)
        except TypeError as error:
            raise ValueError(_("row %(number)s: %(error)s", number=number, error=str(error))) from error
