"""How densely plants stand, beside what the target wants."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Planting, Target
from nursery.models.targets import TargetBasis
from nursery.services.seasons import season_at


@dataclass(frozen=True, slots=True)
class Density:
    """Plants of one species for each hectare: as planted, and as wanted where a target says so."""

    planted: float
    wanted: float | None
    target_id: int | None

    @property
    def share(self) -> float | None:
        """Planted of wanted."""
        return self.planted / self.wanted if self.wanted else None


def density_of(session: Session, row: Planting) -> Density | None:
    """Of a planting whose ground is known; against the open target of its site, species and season."""
    if row.area_m2 is None:
        return None
    planted = row.plants * 10_000 / row.area_m2
    target = session.scalar(
        select(Target).where(
            Target.site_id == row.site_id,
            Target.species_id == row.lot.species_id,
            Target.season == season_at(row.planted_on, southern=row.site.latitude < 0),
            Target.archived_at.is_(None),
        )
    )
    if target is None:
        return Density(planted, None, None)
    return Density(planted, wanted_density(target), target.id)


def wanted_density(target: Target) -> float | None:
    """Plants of the target's species for each hectare; None where it asks for a number of plants, which says
    nothing of the ground they are to cover."""
    if target.basis != TargetBasis.DENSITY:
        return None
    return (target.density_per_ha or 0) * (target.share or 0)
