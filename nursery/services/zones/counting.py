"""How many of the nursery's places lie in zones that are not on the map yet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Population, Site
from nursery.planning.areas import area_of
from nursery.planning.zoning import ANY, ZoneShape, zones_of
from nursery.services.zones.settings import ZoneSettings

if TYPE_CHECKING:
    from nursery.services.zones.looking import LookRow


def count_places(session: Session, settings: ZoneSettings, rows: Sequence[LookRow]) -> None:
    """Write into each row how many populations (of the species, where there is one) and sites lie in it."""
    drawn = [row for row in rows if row.geometry is not None]
    shapes = [
        ZoneShape(
            area_of(row.geometry or {}),
            lowest_m=np.nan if row.lowest_m is None else row.lowest_m,
            highest_m=np.nan if row.highest_m is None else row.highest_m,
        )
        for row in drawn
    ]
    for name, model in (("populations", Population), ("sites", Site)):
        query = select(model.longitude, model.latitude, model.elevation_m).where(model.archived_at.is_(None))
        if model is Population and settings.species_id is not None:
            query = query.where(Population.species_id == settings.species_id)
        places = np.array(session.execute(query).all(), np.float64).reshape(-1, 3)
        longitude, latitude, elevation = places.T
        table = zones_of(shapes, longitude, latitude, elevation, np.full(len(places), ANY))
        counts = np.bincount(table["zone"].to_numpy(np.int64), minlength=len(drawn))
        for row, count in zip(drawn, counts.tolist(), strict=True):
            setattr(row, name, count)
