"""Where the plants come from that the season planted: stands, their regions, and the mothers behind them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, Planting, Population, Site
from nursery.services.flows.back import origins_of_each
from nursery.services.flows.reading import read_planted
from nursery.services.season_report.scope import Scope


@dataclass(frozen=True)
class SiteOrigin:
    """Plants of one species at one site."""

    species_id: int
    site_id: int
    plants: float
    populations: int
    #: Share of its plants from the region of the site; None where one of the two is not on record.
    local: float | None
    #: Mother plants sampled for the lots behind them; None where it is not on record.
    mothers: int | None
    #: None where some lots were pooled, so that nobody knows the shares of their mothers.
    effective: float | None


@dataclass(frozen=True)
class Source:
    """What of a site's plants comes from one stand."""

    site_id: int
    population: str
    species_id: int
    region: str
    plants: float
    share: float
    is_local: bool | None


@dataclass(frozen=True)
class Origins:
    """By site and species, and by site and stand; the share of all plants that are local, where it is known."""

    rows: list[SiteOrigin]
    sources: list[Source]
    local: float | None
    #: Share of the plants for which it is known.
    known: float
    #: Share of the plants whose seed was collected under a permit, or came with a supplier's document.
    documented: float | None = None


def read_origins(session: Session, scope: Scope) -> Origins:
    """Back from all the season's plantings at once: the number of queries does not follow from theirs."""
    planted = read_planted(session, Planting.planted_on.between(scope.first, scope.last))
    lots = select(Lot.id).where(Lot.id.in_({row.lot_id for row in planted}))
    species = dict(
        session.execute(select(Lot.id, Lot.species_id).where(Lot.id.in_({row.lot_id for row in planted}))).all()
    )
    groups: defaultdict[tuple[int, int], defaultdict[int, float]] = defaultdict(lambda: defaultdict(float))
    for row in planted:
        groups[row.site_id, species[row.lot_id]][row.lot_id] += row.plants
    told_of = select(Lot.id, Lot.mother_plants, Lot.supplier_document)
    sampled = {lot_id: (mothers, document) for lot_id, mothers, document in session.execute(told_of)}
    regions = dict(session.execute(select(Population.id, Population.region_code)).all())
    homes = dict(session.execute(select(Site.id, Site.region_code)).all())
    rows, sources = [], []
    local = known = total = documented = 0.0
    for (site_id, species_id), found in origins_of_each(session, lots, groups).items():
        home = homes.get(site_id, "")
        ends: defaultdict[tuple[int, str], float] = defaultdict(float)
        for one in found.lots:
            if one.collected:
                ends[one.lot.population_id, one.lot.population_name] += one.share
        told = {key: _is_local(home, regions.get(key[0], "")) for key in ends}
        of_home = sum(share for key, share in ends.items() if told[key])
        of_known = sum(share for key, share in ends.items() if told[key] is not None)
        worth = found.species[0] if found.species else None
        rows.append(
            SiteOrigin(
                species_id, site_id, found.plants, len(ends), of_home if of_known > 1 - 1e-9 else None,
                _all_known([sampled[one.lot.id][0] for one in found.lots if one.collected]),
                worth.effective if worth else None,
            )
        )  # fmt: skip
        sources += [
            Source(
                site_id, name, species_id, regions.get(population_id, ""), found.plants * share, share,
                told[population_id, name],
            )
            for (population_id, name), share in ends.items()
        ]  # fmt: skip
        total += found.plants
        documented += found.plants * sum(
            one.share
            for one in found.lots
            if one.collected and (one.lot.permit_id or one.lot.permit_number or sampled[one.lot.id][1])
        )
        local += found.plants * of_home
        known += found.plants * of_known
    return Origins(
        rows, sources, local / known if known else None, known / total if total else 0.0,
        documented / total if total else None,
    )  # fmt: skip


def _is_local(home: str, region: str) -> bool | None:
    return home.casefold() == region.casefold() if home and region else None


def _all_known(numbers: Sequence[int | None]) -> int | None:
    return None if None in numbers or not numbers else sum(number or 0 for number in numbers)
