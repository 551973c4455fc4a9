"""Codes of regions and basins that a file of places leaves empty and the map knows."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Population, Site, Species
from nursery.services.importing.kinds import Kind
from nursery.services.importing.outcome import MapCode
from nursery.services.importing.rows import Row
from nursery.services.zones import codes_from_map

_PLACES = (Population, Site)
_FIELDS = ("region_code", "basin")


def find_map_codes(session: Session, kind: Kind, rows: Sequence[Row]) -> list[MapCode]:
    """What the map would fill in, row by row; a record that stays where it is was left empty knowingly.

    A code that is typed is never changed.
    """
    if kind.model not in _PLACES:
        return []
    asking = [row for row in rows if _asks(row)]
    if not asking:
        return []
    species = {key: species_id for species_id, key in session.execute(select(Species.id, Species.key))}
    places = [
        {
            **row.merged,
            "species_id": species.get(row.merged.get("species", ""), 0) if kind.model is Population else None,
        }
        for row in asking
    ]
    return [
        MapCode(row.number, str(row.merged.get("code") or ""), field, codes[field])
        for row, codes in zip(asking, codes_from_map(session, places), strict=True)
        for field in _FIELDS
        if field in codes
    ]


def fill_rows(rows: Sequence[Row], codes: Sequence[MapCode]) -> None:
    """Take the codes over into the rows, as if the file had them."""
    by_number = {row.number: row for row in rows}
    for code in codes:
        by_number[code.row].given[code.field] = code.code


def _asks(row: Row) -> bool:
    merged = row.merged
    if merged.get("latitude") is None or merged.get("longitude") is None:
        return False
    moved = row.existing is None or row.changes("latitude") or row.changes("longitude")
    return moved and not all(merged.get(field) for field in _FIELDS)
