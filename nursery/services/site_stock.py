"""What each planting site will receive, as the plan forecasts it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import PlanLine, Site, Species
from nursery.models.plans import LineStatus
from nursery.services.listing import Column, Condition, Filter, Listing, choice_options, whole
from nursery.services.planning.words import STATUS
from nursery.services.seasons import season_name
from nursery.services.stock import SUMS, Forecast, forecast_of, together


@dataclass(frozen=True, slots=True)
class SiteRow:
    """One site in one season."""

    season: int
    site_name: str
    site_id: int
    species: int
    forecast: Forecast


STATUS_LABELS = {status: words[0] for status, words in STATUS.items()}


def read_sites(
    session: Session, plan_id: int, *, season: int | None = None, q: str = "", site_id: int | None = None
) -> list[SiteRow]:
    """Every site and season of the plan, or those asked for, in one query; the soonest season first."""
    keys = (PlanLine.season, PlanLine.site_name, PlanLine.site_id, PlanLine.species_id)
    statement = select(*keys, *SUMS).where(PlanLine.plan_id == plan_id).group_by(*keys)
    if season is not None:
        statement = statement.where(PlanLine.season == season)
    if site_id is not None:
        statement = statement.where(PlanLine.site_id == site_id)
    for word in q.replace("\0", " ").split()[:8]:
        statement = statement.where(PlanLine.site_name.icontains(word, autoescape=True))
    parts: dict[tuple[int, str, int], list[Forecast]] = {}
    for year, name, site, _species_id, *sums in session.execute(statement):
        parts.setdefault((year, name, site), []).append(forecast_of(sums))
    return [SiteRow(*key, len(some), together(some)) for key, some in sorted(parts.items())]


def get_site(session: Session, site_id: int) -> Site:
    """One planting site, archived or not."""
    site = session.get(Site, site_id)
    if site is None:
        raise NotFound(_("There is no such planting site."))
    return site


@lru_cache(maxsize=64)
def site_listing(plan_id: int, site_id: int) -> Listing:
    """What one site will receive, line by line."""

    def seasons(session: Session) -> list[tuple[str, str]]:
        years = session.scalars(
            select(PlanLine.season).where(*lines_for(plan_id, site_id)).distinct().order_by(PlanLine.season)
        )
        return [(str(year), season_name(year)) for year in years]

    return Listing(
        model=PlanLine,
        order="planted",
        joins=lambda query: query.join(Species, PlanLine.species_id == Species.id),
        columns=(
            Column("species", _l("Species"), PlanLine.species_name, "taxon", link=("plans.line", PlanLine.id)),
            Column("season", _l("Season"), PlanLine.season, "season"),
            Column("planted", _l("Planting from"), PlanLine.plant_on, "date"),
            Column("status", _l("Status"), PlanLine.status, "choice", choices=STATUS_LABELS),
            Column("wanted", _l("To plant"), PlanLine.plants_to_plant, "number"),
            Column("needed", _l("Ready plants needed"), PlanLine.ready_plants, "number"),
            Column("expected", _l("Ready plants expected"), PlanLine.expected, "number"),
            Column("p10", _l("Low (10 %)"), PlanLine.p10, "number", on_screen=False),
            Column("p90", _l("High (90 %)"), PlanLine.p90, "number", on_screen=False),
            Column("chance", _l("Chance"), PlanLine.probability, "percent"),
            Column("shortfall", _l("Short of seed for"), PlanLine.shortfall, "number"),
            Column("container", _l("Container"), PlanLine.container_name, on_screen=False),
            Column("nursery", _l("Nursery"), PlanLine.nursery_name, on_screen=False),
            Column("ready", _l("Ready from"), PlanLine.ready_on, "date", on_screen=False),
        ),
        search=(PlanLine.species_name,),
        search_species=True,
        filters=(
            Filter("season", _l("Season"), PlanLine.season, seasons, parse=whole),
            Filter("status", _l("Status"), PlanLine.status, choice_options(STATUS_LABELS), parse=LineStatus),
        ),
    )


def lines_for(plan_id: int, site_id: int) -> tuple[Condition, ...]:
    """What narrows plan lines to one plan and site."""
    return (PlanLine.plan_id == plan_id, PlanLine.site_id == site_id)
