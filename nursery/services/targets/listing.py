"""The list of targets, and what they add up to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from sqlalchemy import Integer, Select, case, cast, func, select
from sqlalchemy.orm import Session

from nursery.i18n import lazy as _l
from nursery.models import Container, Site, Species, Target
from nursery.models.targets import TargetBasis
from nursery.services.listing import (
    Column,
    Condition,
    Filter,
    Listing,
    choice_options,
    options_of,
    species_options,
    whole,
)
from nursery.services.seasons import season_name

BASIS_LABELS = {
    TargetBasis.PLANTS: _l("Plants"),
    TargetBasis.DENSITY: _l("Plants per hectare"),
    TargetBasis.SURVIVORS: _l("Survivors"),
}

#: Whole plants; rounding up by way of round() gives the same on every database.
_BY_DENSITY = func.round(Target.density_per_ha * Site.area_ha * Target.share + 0.5 - 1e-9)
WANTED = cast(case((Target.basis == TargetBasis.DENSITY, _BY_DENSITY), else_=Target.plants), Integer)

_REPLACES = case((Target.replacements > 0, "yes"), else_="no")
_REPLACE_LABELS = {"yes": _l("with replacements"), "no": _l("first plantings alone")}


def _joins(query: Select[Any]) -> Select[Any]:
    return (
        query.join(Site, Target.site_id == Site.id)
        .join(Species, Target.species_id == Species.id)
        .outerjoin(Container, Target.container_id == Container.id)
    )


def _seasons(session: Session) -> Sequence[tuple[str, str]]:
    query = select(Target.season).where(Target.archived_at.is_(None)).distinct().order_by(Target.season)
    return [(str(season), season_name(season)) for season in session.scalars(query)]


def _sites(session: Session) -> Sequence[tuple[str, str]]:
    used = select(Target.site_id).where(Target.archived_at.is_(None))
    query = select(Site.id, Site.name).where(Site.id.in_(used)).order_by(Site.name).limit(500)
    return [(str(key), name) for key, name in session.execute(query)]


LISTING = Listing(
    model=Target,
    order="season",
    joins=_joins,
    columns=(
        Column("species", _l("Species"), Species.scientific_name, "taxon", link=("targets.detail", Target.id)),
        Column("site", _l("Planting site"), Site.name, link=("sites.detail", Site.id)),
        Column("season", _l("Season"), Target.season, "season"),
        Column("wanted", _l("Wanted"), WANTED, "number"),
        Column(
            "replacements",
            _l("Replacements among them"),
            func.nullif(Target.replacements, 0, type_=Integer),
            "number",
            nullable=True,
        ),
        Column("basis", _l("Given as"), Target.basis, "choice", choices=BASIS_LABELS),
        Column("priority", _l("Priority"), Target.priority, "number"),
        Column("plant_on", _l("Planting day"), Target.plant_on, "date"),
        Column("funder", _l("Funder"), Target.funder, on_screen=False),
        Column("site_code", _l("Site code"), Site.code, on_screen=False),
        Column("plants", _l("Plants or survivors"), Target.plants, "number", on_screen=False),
        Column("density", _l("Plants per hectare"), Target.density_per_ha, "number", digits=2, on_screen=False),
        Column("share", _l("Share of the mix"), Target.share, "percent", digits=2, on_screen=False),
        Column("survival_year", _l("Survival year"), Target.survival_year, "number", on_screen=False),
        Column("container", _l("Container"), Container.name, on_screen=False),
        Column("protocol", _l("Protocol"), Target.protocol, on_screen=False),
        Column("seeds_per_cell", _l("Seeds per cell"), Target.seeds_per_cell, "number", on_screen=False),
        Column("assurance", _l("Assurance"), Target.assurance, "percent", digits=1, on_screen=False),
        Column("notes", _l("Notes"), Target.notes, on_screen=False),
    ),
    search=(Site.code, Site.name, Species.scientific_name),
    search_species=True,
    filters=(
        Filter("season", _l("Season"), Target.season, _seasons, parse=whole),
        Filter("site", _l("Planting site"), Target.site_id, _sites, parse=whole),
        Filter("species", _l("Species"), Species.key, species_options(Target)),
        Filter("funder", _l("Funder"), Target.funder, options_of(Target.funder)),
        Filter("basis", _l("Given as"), Target.basis, choice_options(BASIS_LABELS), parse=TargetBasis),
        Filter("replacements", _l("Replacements"), _REPLACES, choice_options(_REPLACE_LABELS)),
    ),
)


class SeasonTotal(NamedTuple):
    """What the targets of one season add up to."""

    season: int
    targets: int
    #: Plants to plant, of targets given as plants or as a density.
    plants: int
    #: Plants that should be alive later, of targets given as survivors.
    survivors: int
    sites: int
    species: int


def season_totals(session: Session, *where: Condition) -> list[SeasonTotal]:
    """Totals of the targets that the next plan would take, by season."""
    is_survivors = Target.basis == TargetBasis.SURVIVORS
    rows = session.execute(
        _joins(
            select(
                Target.season,
                func.count(Target.id),
                func.coalesce(func.sum(case((is_survivors, 0), else_=WANTED)), 0),
                func.coalesce(func.sum(case((is_survivors, WANTED), else_=0)), 0),
                func.count(Target.site_id.distinct()),
                func.count(Target.species_id.distinct()),
            ).select_from(Target)
        )
        .where(Target.archived_at.is_(None), Site.archived_at.is_(None), *where)
        .group_by(Target.season)
        .order_by(Target.season)
    )
    return [SeasonTotal(*row) for row in rows]
