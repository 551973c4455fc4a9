"""What the map says of populations and sites, beside what is written down about them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

import numpy as np
from sqlalchemy import literal, select
from sqlalchemy.orm import Session

from nursery.models import Population, Site
from nursery.models.zones import ZoneKind
from nursery.planning.zoning import ANY, zones_of
from nursery.services.zones.atlas import MapZone, zones_on_map

#: The column of a place that bears the code of each kind of area.
FIELDS = {ZoneKind.REGION: "region_code", ZoneKind.BASIN: "basin"}


class Standing(StrEnum):
    """How a code on record stands to the map."""

    VERIFIED = "verified"
    DIFFERS = "differs"
    #: Nothing is on record, and the map knows.
    OFFERED = "offered"
    #: Typed, and no area on the map covers the place.
    UNVERIFIED = "unverified"
    #: Neither on record nor on the map.
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Found:
    """An area that a place lies in."""

    id: int
    code: str
    name: str
    #: The place lies on the boundary.
    on_edge: bool
    #: The area has altitude limits, and the place's elevation is not written down.
    undecided: bool


@dataclass(frozen=True, slots=True)
class Placement:
    """One place and one kind of area: what is on record, and what the map says."""

    kind: ZoneKind
    recorded: str
    zones: tuple[Found, ...] = ()
    #: Whether any area of this kind is on the map at all.
    is_mapped: bool = True

    @property
    def codes(self) -> tuple[str, ...]:
        """Codes of the areas that surely hold the place, in the order of their names."""
        return tuple(dict.fromkeys(zone.code for zone in self.zones if not zone.undecided))

    @property
    def standing(self) -> Standing:
        """How the record stands to the map; codes are compared as they are written, as the rules of origin do."""
        if self.codes:
            if not self.recorded:
                return Standing.OFFERED
            return Standing.VERIFIED if self.recorded in self.codes else Standing.DIFFERS
        return Standing.UNVERIFIED if self.recorded else Standing.NOTHING


Placements = Mapping[ZoneKind, Placement]


class Spot(Protocol):
    """A place with what is on record about it; ``species_id`` is None for a site."""

    @property
    def id(self) -> int: ...  # noqa: D102 -- a column
    @property
    def species_id(self) -> int | None: ...  # noqa: D102 -- a column
    @property
    def latitude(self) -> float: ...  # noqa: D102 -- a column
    @property
    def longitude(self) -> float: ...  # noqa: D102 -- a column
    @property
    def elevation_m(self) -> float | None: ...  # noqa: D102 -- a column
    @property
    def region_code(self) -> str: ...  # noqa: D102 -- a column
    @property
    def basin(self) -> str: ...  # noqa: D102 -- a column


def place_records(
    session: Session, model: type[Population] | type[Site], ids: Iterable[int]
) -> dict[int, Placements]:
    """Placements of the records with these ids, in two queries."""
    species = model.species_id if model is Population else literal(None)
    query = select(
        model.id, species.label("species_id"), model.latitude, model.longitude, model.elevation_m,
        model.region_code, model.basin,
    ).where(model.id.in_(list(ids)))  # fmt: skip
    return place_rows(zones_on_map(session), session.execute(query).all())


def place_rows(zones: Sequence[MapZone], spots: Sequence[Spot]) -> dict[int, Placements]:
    """Placements of all spots at once, by their ids."""
    found: dict[int, dict[ZoneKind, Placement]] = defaultdict(dict)
    for kind in ZoneKind:
        of_kind = [zone for zone in zones if zone.kind is kind]
        held = _held(of_kind, spots)
        for row, spot in enumerate(spots):
            recorded = str(getattr(spot, FIELDS[kind]))
            found[spot.id][kind] = Placement(kind, recorded, tuple(held.get(row, ())), bool(of_kind))
    return dict(found)


def _held(zones: Sequence[MapZone], spots: Sequence[Spot]) -> dict[int, list[Found]]:
    """The areas of each row of spots that lies in any."""
    held: dict[int, list[Found]] = defaultdict(list)
    if not zones or not spots:
        return held
    table = zones_of(
        [zone.shape for zone in zones],
        [spot.longitude for spot in spots],
        [spot.latitude for spot in spots],
        [np.nan if spot.elevation_m is None else spot.elevation_m for spot in spots],
        [ANY if spot.species_id is None else spot.species_id for spot in spots],
    )
    columns = (table[name].tolist() for name in ("place", "zone", "on_edge", "undecided"))
    for place, zone, on_edge, undecided in zip(*columns, strict=True):
        one = zones[zone]
        held[place].append(Found(one.id, one.code, one.name, on_edge, undecided))
    return held


def own_regions(session: Session, site_ids: Iterable[int]) -> dict[int, dict[tuple[int, str], tuple[str, ...]]]:
    """For species with regions of their own: the codes that each site has for them, in two queries.

    By site, then by id and name of the species; a site outside all regions of a species has no codes for it.
    """
    zones = zones_on_map(session)
    query = select(Site.id, Site.latitude, Site.longitude, Site.elevation_m).where(Site.id.in_(list(site_ids)))
    sites = session.execute(query).all()
    found: dict[int, dict[tuple[int, str], tuple[str, ...]]] = {site.id: {} for site in sites}
    named = {(zone.species_id, zone.species_name) for zone in zones if zone.species_id is not None}
    for species_id, name in sorted(named, key=lambda species: species[1]):
        held = _held(
            [zone for zone in zones if zone.species_id == species_id],
            [_Spot(site.id, species_id, site.latitude, site.longitude, site.elevation_m) for site in sites],
        )
        for row, site in enumerate(sites):
            codes = dict.fromkeys(zone.code for zone in held.get(row, ()) if not zone.undecided)
            found[site.id][species_id, name] = tuple(codes)
    return found


@dataclass(frozen=True, slots=True)
class _Spot:
    """A site as a species sees it."""

    id: int
    species_id: int | None
    latitude: float
    longitude: float
    elevation_m: float | None
    region_code: str = ""
    basin: str = ""
