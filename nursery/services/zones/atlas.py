"""The areas in use, made ready for asking; outlines are read and prepared once, because they never change."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Species
from nursery.models.zones import Zone, ZoneKind
from nursery.planning.areas import Area, area_of
from nursery.planning.zoning import ANY, ZoneShape

#: A country's regions and basins fit; the oldest make room.
_MOST_KEPT = 2000
_Key = tuple[str, int, str]
_kept: OrderedDict[_Key, Area] = OrderedDict()
_keeping = threading.Lock()


@dataclass(frozen=True, slots=True)
class MapZone:
    """An area in use."""

    id: int
    kind: ZoneKind
    code: str
    name: str
    jurisdiction: str
    species_id: int | None
    species_name: str
    lowest_m: float | None
    highest_m: float | None
    area: Area

    @property
    def shape(self) -> ZoneShape:
        """As the calculation takes it."""
        return ZoneShape(
            self.area,
            ANY if self.species_id is None else self.species_id,
            np.nan if self.lowest_m is None else self.lowest_m,
            np.nan if self.highest_m is None else self.highest_m,
        )


def zones_on_map(session: Session) -> list[MapZone]:
    """All areas that are not archived, by kind, code and id; their outlines cost one query the first time."""
    query = (
        select(
            Zone.id, Zone.kind, Zone.code, Zone.name, Zone.jurisdiction, Zone.species_id, Species.scientific_name,
            Zone.lowest_m, Zone.highest_m, Zone.created_at,
        )
        .outerjoin(Species, Zone.species_id == Species.id)
        .where(Zone.archived_at.is_(None))
        .order_by(Zone.kind, Zone.code, Zone.id)
    )  # fmt: skip
    rows = session.execute(query).all()
    database = str(session.get_bind().engine.url)
    keys: list[_Key] = [(database, row.id, str(row.created_at)) for row in rows]
    areas = _areas(session, keys)
    return [
        MapZone(
            row.id, row.kind, row.code, row.name, row.jurisdiction, row.species_id, row.scientific_name or "",
            row.lowest_m, row.highest_m, areas[key],
        )
        for row, key in zip(rows, keys, strict=True)
    ]  # fmt: skip


def _areas(session: Session, keys: Sequence[_Key]) -> dict[_Key, Area]:
    with _keeping:
        found = {key: _kept[key] for key in keys if key in _kept}
    missing = {key[1]: key for key in keys if key not in found}
    if missing:
        outlines = select(Zone.id, Zone.geometry).where(Zone.id.in_(missing))
        read = {missing[zone_id]: area_of(geometry) for zone_id, geometry in session.execute(outlines)}
        with _keeping:
            _kept.update(read)
            while len(_kept) > _MOST_KEPT:
                _kept.popitem(last=False)
        found |= read
    return found
