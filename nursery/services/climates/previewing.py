"""Reading a file of climate normals without writing anything."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models.climates import Climate
from nursery.services.climates.columns import KIND, MEASURES, identities
from nursery.services.importing.book import open_book
from nursery.services.importing.checking import read_rows, refuse_rows
from nursery.services.importing.columns import Column
from nursery.services.importing.matching import heading_test, settle_mapping
from nursery.services.importing.outcome import Finding
from nursery.services.importing.previewing import findings_of
from nursery.services.importing.rows import Row
from nursery.tabular.reader import read_table

_KEPT = ("population_id", "site_id", "period", *MEASURES, "source")


@dataclass(frozen=True, slots=True)
class ClimatePreview:
    """Everything a person sees before saying yes."""

    headings: Sequence[str]
    #: Field that each column fills; empty for columns that are left out.
    mapping: Sequence[str]
    missing: Sequence[Column]
    rows: int
    #: Values by column, and the id of the normals that they change (None for new ones).
    writes: Sequence[tuple[int | None, dict[str, Any]]]
    unchanged: int
    refused: int
    findings: Sequence[Finding]

    @property
    def new(self) -> int:
        """Normals that would be written."""
        return sum(known is None for known, _values in self.writes)

    @property
    def changed(self) -> int:
        """Normals that would change."""
        return len(self.writes) - self.new

    @property
    def fingerprint(self) -> str:
        """Names this very outcome, so that only what a person saw can be confirmed."""
        told = [(known, sorted(values.items())) for known, values in self.writes]
        return hashlib.sha256(repr((list(self.mapping), self.rows, self.refused, told)).encode()).hexdigest()


def look_at_climates(
    session: Session, *, content: bytes, today: dt.date, mapping: Sequence[str] | None = None
) -> ClimatePreview:
    """What importing the file would do; ``mapping`` names the field of each column, None matches by heading.

    Raises
    ------
    Invalid
        With the field ``file`` when the file cannot be read at all.
    """
    table = read_table(content, heading_test(KIND))
    fields = settle_mapping(KIND, table.headings, mapping)
    rows = read_rows(KIND, table, fields, open_book(session, ("populations", "sites")), today)
    _recognise(rows, _known(session))
    refuse_rows(KIND, rows)
    good = [row for row in rows if not row.problems]
    writes = [write for row in good if (write := _write(row)) is not None]
    return ClimatePreview(
        headings=table.headings,
        mapping=fields,
        missing=tuple(column for column in KIND.columns if column.required and column.key not in fields),
        rows=len(rows),
        writes=writes,
        unchanged=len(good) - len(writes),
        refused=len(rows) - len(good),
        findings=tuple(findings_of(KIND, table, fields, rows)),
    )


def _known(session: Session) -> dict[tuple[Any, ...], dict[str, Any]]:
    """The normals on record by their place and period."""
    columns = [getattr(Climate, name) for name in ("id", *_KEPT)]
    found = (dict(row) for row in session.execute(select(*columns)).mappings())
    return {identities(record)[0]: record for record in found}


def _recognise(rows: Sequence[Row], known: dict[tuple[Any, ...], dict[str, Any]]) -> None:
    first: dict[tuple[Any, ...], int] = {}
    for row in rows:
        for identity in identities(row.given):
            # The place and the period are given by every row, so that missing columns are still missed.
            row.existing = known.get(identity)
            if identity in first:
                row.problems.append(
                    ("", _("Row %(row)s is about the same place and period. Keep one.", row=first[identity]))
                )
            first.setdefault(identity, row.number)


def _write(row: Row) -> tuple[int | None, dict[str, Any]] | None:
    values = {key: row.given[key] for key in _KEPT if key in row.given}
    if row.existing is None:
        return None, values
    changes = {key: value for key, value in values.items() if value != row.existing[key]}
    return (row.existing["id"], changes) if changes else None
