"""Places on the map: populations, sites and nurseries in use, by one query a kind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import literal, select
from sqlalchemy.orm import Session

from nursery.models import Nursery, Population, Site, Species
from nursery.models.zones import Zone
from nursery.planning.areas import OUTSIDE, area_of, locate


class MarkKind(StrEnum):
    """What stands at a place."""

    POPULATION = "population"
    SITE = "site"
    NURSERY = "nursery"


@dataclass(frozen=True, slots=True)
class Mark:
    """A place; ``species`` is the scientific name of a population's species, else empty."""

    kind: MarkKind
    id: int
    code: str
    name: str
    species: str
    latitude: float
    longitude: float
    elevation_m: float | None
    region_code: str = ""
    basin: str = ""

    @property
    def label(self) -> str:
        """The short word beside it on the map."""
        return self.code if self.kind is MarkKind.POPULATION else self.name


def read_marks(session: Session, species: str = "") -> list[Mark]:
    """All places in use; of populations those of one species, where its key is given."""
    nothing = literal("")
    stands = (
        select(
            Population.id, Population.code, Population.name, Species.scientific_name, Population.latitude,
            Population.longitude, Population.elevation_m, Population.region_code, Population.basin,
        )
        .join(Species, Population.species_id == Species.id)
        .where(Population.archived_at.is_(None))
        .order_by(Population.code)
    )  # fmt: skip
    if species:
        stands = stands.where(Species.key == species)
    sites = (
        select(
            Site.id, Site.code, Site.name, nothing, Site.latitude, Site.longitude, Site.elevation_m,
            Site.region_code, Site.basin,
        )
        .where(Site.archived_at.is_(None))
        .order_by(Site.code)
    )  # fmt: skip
    yards = (
        select(
            Nursery.id, nothing, Nursery.name, nothing, Nursery.latitude, Nursery.longitude, Nursery.elevation_m
        )
        .where(Nursery.archived_at.is_(None))
        .order_by(Nursery.name)
    )
    marks = [Mark(MarkKind.POPULATION, *row) for row in session.execute(stands)]
    marks += [Mark(MarkKind.SITE, *row) for row in session.execute(sites)]
    marks += [Mark(MarkKind.NURSERY, *row) for row in session.execute(yards)]
    return marks


def places_in_zone(session: Session, zone: Zone) -> Sequence[Mark]:
    """Populations (of the zone's species, where it has one) and sites that lie in a zone, its limits heeded."""
    marks = read_marks(session, zone.species.key if zone.species else "")
    places = [mark for mark in marks if mark.kind is not MarkKind.NURSERY]
    where = locate(area_of(zone.geometry), [mark.longitude for mark in places], [mark.latitude for mark in places])
    return [
        mark for mark, found in zip(places, where.tolist(), strict=True) if found != OUTSIDE and _high(zone, mark)
    ]


def _high(zone: Zone, mark: Mark) -> bool:
    """Within the altitude limits, as far as is known."""
    if mark.elevation_m is None:
        return True
    too_low = zone.lowest_m is not None and mark.elevation_m < zone.lowest_m
    too_high = zone.highest_m is not None and mark.elevation_m > zone.highest_m
    return not (too_low or too_high)
