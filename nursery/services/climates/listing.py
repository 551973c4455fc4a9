"""The list of normals."""

from __future__ import annotations

from sqlalchemy import case, func, literal

from nursery.i18n import lazy as _l
from nursery.models import Population, Site
from nursery.models.climates import Climate, Period
from nursery.services.climates.reading import PERIOD_LABELS
from nursery.services.listing import Column, Filter, Listing, choice_options

KIND_LABELS = {"population": _l("Population"), "site": _l("Planting site")}
_KIND = case((Climate.site_id.is_(None), literal("population")), else_=literal("site"))
_CODE = func.coalesce(Population.code, Site.code)

LISTING = Listing(
    model=Climate,
    order="place",
    joins=lambda query: query.outerjoin(Population, Climate.population_id == Population.id).outerjoin(
        Site, Climate.site_id == Site.id
    ),
    columns=(
        Column("place", _l("Place"), _CODE, "code", nullable=False, link=("climates.place", Climate.id)),
        Column("name", _l("Name"), func.coalesce(Population.name, Site.name), nullable=False),
        Column("kind", _l("What it is"), _KIND, "choice", choices=KIND_LABELS, sortable=False),
        Column("period", _l("Period"), Climate.period, "choice", choices=PERIOD_LABELS),
        Column("mean", _l("Mean annual temperature"), Climate.mean_annual_c, "number", digits=1, unit="°C"),
        Column("rain", _l("Annual rain"), Climate.annual_rain_mm, "number", unit="mm"),
        Column("summer", _l("Summer rain"), Climate.summer_rain_mm, "number", unit="mm"),
        Column("coldest", _l("Coldest month"), Climate.coldest_month_min_c, "number", digits=1, unit="°C"),
        Column("source", _l("Source"), Climate.source),
    ),
    search=(Population.code, Population.name, Site.code, Site.name, Climate.source),
    filters=(
        Filter("kind", _l("What it is"), _KIND, choice_options(KIND_LABELS)),
        Filter("period", _l("Period"), Climate.period, choice_options(PERIOD_LABELS), parse=Period),
    ),
)  # fmt: skip
