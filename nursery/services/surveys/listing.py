"""Lists of surveys, and of what was counted species by species."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Select, case, func, select
from sqlalchemy.orm import Session

from nursery.i18n import lazy as _l
from nursery.models import Lot, Site, Species, Survey, SurveyCount, SurveyPlot
from nursery.services.listing import Column, Filter, Listing, choice_options, whole
from nursery.services.seasons import season_name
from nursery.services.surveys.words import year_name

_STATES = {"stands": _l("In force"), "withdrawn": _l("Withdrawn")}
_STATE = case((Survey.withdrawn_at.is_(None), "stands"), else_="withdrawn")


def _sum(column: Any) -> Any:
    return select(func.sum(column)).where(SurveyCount.survey_id == Survey.id).scalar_subquery()


_PLANTED, _ALIVE = _sum(SurveyCount.planted), _sum(SurveyCount.alive)
_SPECIES = select(func.count()).where(SurveyCount.survey_id == Survey.id).scalar_subquery()


def _joins(query: Select[Any]) -> Select[Any]:
    return query.join(SurveyPlot, Survey.plot_id == SurveyPlot.id).join(Site, SurveyPlot.site_id == Site.id)


def _count_joins(query: Select[Any]) -> Select[Any]:
    return (
        _joins(query.join(Survey, SurveyCount.survey_id == Survey.id))
        .join(Species, SurveyCount.species_id == Species.id)
        .outerjoin(Lot, SurveyCount.lot_id == Lot.id)
    )


def _seasons(session: Session) -> Sequence[tuple[str, str]]:
    query = select(Survey.season).distinct().order_by(Survey.season.desc())
    return [(str(season), season_name(season)) for season in session.scalars(query)]


def _years(session: Session) -> Sequence[tuple[str, str]]:
    query = select(Survey.year).distinct().order_by(Survey.year)
    return [(str(year), year_name(year)) for year in session.scalars(query)]


def _sites(session: Session) -> Sequence[tuple[str, str]]:
    used = select(SurveyPlot.site_id).join(Survey, Survey.plot_id == SurveyPlot.id)
    query = select(Site.id, Site.name).where(Site.id.in_(used)).order_by(Site.name).limit(500)
    return [(str(key), name) for key, name in session.execute(query)]


def _species(session: Session) -> Sequence[tuple[str, str]]:
    used = select(SurveyCount.species_id)
    query = select(Species.key, Species.scientific_name).where(Species.id.in_(used))
    return [(key, name) for key, name in session.execute(query.order_by(Species.scientific_name))]


_FILTERS = (
    Filter("site", _l("Planting site"), SurveyPlot.site_id, _sites, parse=whole),
    Filter("season", _l("Season planted"), Survey.season, _seasons, parse=whole),
    Filter("year", _l("Year"), Survey.year, _years, parse=whole),
    Filter("state", _l("State"), _STATE, choice_options(_STATES)),
)
_PLACE = (
    Column("site", _l("Planting site"), Site.name, link=("sites.detail", Site.id)),
    Column("site_code", _l("Site code"), Site.code, on_screen=False),
    Column("plot", _l("Plot"), SurveyPlot.name, link=("plots.detail", SurveyPlot.id)),
    Column("season", _l("Season planted"), Survey.season, "season"),
    Column("year", _l("Year"), Survey.year, "year"),
)
_END = (
    Column("person", _l("Person"), Survey.person),
    Column("state", _l("State"), _STATE, "choice", choices=_STATES, nullable=False),
    Column("notes", _l("Notes"), Survey.notes, on_screen=False),
)

LISTING = Listing(
    model=Survey,
    order="-surveyed_on",
    joins=_joins,
    columns=(
        Column("surveyed_on", _l("Surveyed on"), Survey.surveyed_on, "date", link=("surveys.detail", Survey.id)),
        *_PLACE,
        Column("species", _l("Species"), _SPECIES, "number", nullable=True),
        Column("planted", _l("Planted first"), _PLANTED, "number", nullable=True),
        Column("alive", _l("Alive"), _ALIVE, "number", nullable=True),
        Column("rate", _l("Survival"), _ALIVE * 1.0 / _PLANTED, "percent", nullable=True),
        Column(
            "replacements", _l("Replacements alive"), _sum(SurveyCount.replacements_alive), "number",
            nullable=True, on_screen=False,
        ),
        *_END,
    ),
    search=(Site.code, Site.name, SurveyPlot.name, Survey.person),
    filters=_FILTERS,
)  # fmt: skip

COUNTS = Listing(
    model=SurveyCount,
    order="-surveyed_on",
    joins=_count_joins,
    columns=(
        Column("surveyed_on", _l("Surveyed on"), Survey.surveyed_on, "date", link=("surveys.detail", Survey.id)),
        *_PLACE,
        Column("species", _l("Species"), Species.scientific_name, "taxon"),
        Column("lot", _l("Lot"), Lot.code, "code", link=("lots.detail", Lot.id), nullable=True),
        Column("planted", _l("Planted first"), SurveyCount.planted, "number"),
        Column("alive", _l("Alive"), SurveyCount.alive, "number"),
        Column("rate", _l("Survival"), SurveyCount.alive * 1.0 / SurveyCount.planted, "percent", nullable=False),
        Column("replacements", _l("Replacements alive"), SurveyCount.replacements_alive, "number"),
        Column("replaced", _l("Replacements asked for"), SurveyCount.replaced, "number"),
        *_END,
    ),
    search=(Site.code, Site.name, SurveyPlot.name, Species.scientific_name),
    search_species=True,
    filters=(*_FILTERS, Filter("species", _l("Species"), Species.key, _species)),
)
