"""What a preview tells: rows understood, rows refused and why, and what confirming would write."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from nursery.services.importing.columns import Column
from nursery.services.importing.kinds import Kind
from nursery.tabular.table import Layout


@dataclass(frozen=True, slots=True)
class Finding:
    """One reason to refuse one row."""

    row: int
    column: str
    value: str
    reason: str


@dataclass(frozen=True, slots=True)
class Write:
    """A row that confirming would write: new when ``record_id`` is None, else the fields that change."""

    row: int
    record_id: int | None
    version: int
    values: dict[str, Any]
    #: The record as it is; empty for a new one.
    record: dict[str, Any]

    @property
    def before(self) -> dict[str, Any]:
        """What the changing fields hold now."""
        return {key: self.record[key] for key in self.values} if self.record else {}


@dataclass(frozen=True, slots=True)
class MapCode:
    """A code that the map knows for a place whose cell is empty."""

    row: int
    #: Of the place.
    place: str
    field: str
    code: str


@dataclass(frozen=True, slots=True)
class Sample:
    """A cell as it stands in the file and as it was understood."""

    written: str
    understood: str
    refused: bool = False


@dataclass(frozen=True, slots=True)
class Changed:
    """A field of a record that the file would change, in words."""

    row: int
    #: Of the record.
    name: str
    column: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Preview:
    """Everything a person sees before saying yes."""

    kind: Kind
    file_name: str
    layout: Layout
    headings: tuple[str, ...]
    #: Key of the field that each column of the file fills; empty for columns that are ignored.
    mapping: tuple[str, ...]
    #: Columns that new records need and the file lacks.
    missing: tuple[Column, ...]
    rows: int
    writes: Sequence[Write]
    unchanged: int
    refused: int
    findings: Sequence[Finding]
    samples: Sequence[tuple[int, Sequence[Sample]]]
    #: The first fields that would change, with what they hold now.
    changes: Sequence[Changed] = ()
    #: What the map would fill in, and whether that was asked for.
    map_codes: Sequence[MapCode] = ()
    from_map: bool = False

    @property
    def new(self) -> int:
        """Records that would be created."""
        return sum(write.record_id is None for write in self.writes)

    @property
    def changed(self) -> int:
        """Records that would change."""
        return len(self.writes) - self.new

    @property
    def fingerprint(self) -> str:
        """Names this very outcome, so that only what a person saw can be confirmed."""
        said = hashlib.sha256(repr((self.kind.key, self.mapping, self.rows, self.refused)).encode())
        for write in self.writes:
            said.update(repr((write.row, write.record_id, write.version, sorted(write.values.items()))).encode())
            said.update(repr(sorted(write.before.items())).encode())
        return said.hexdigest()
