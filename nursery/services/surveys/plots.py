"""Marked pieces of a planting site that are looked at again and again."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Site, Survey, SurveyPlot
from nursery.services import checking, limits, records
from nursery.services.coordinates import refuse_misplaced
from nursery.services.listing import Column, Filter, Listing, whole

#: A plot is a piece of a site that one person can walk.
AREA_M2 = limits.Bounds(0, 1_000_000, above=True)
_LAST = (
    select(func.max(Survey.surveyed_on))
    .where(Survey.plot_id == SurveyPlot.id, Survey.withdrawn_at.is_(None))
    .scalar_subquery()
)


def _joins(query: Select[Any]) -> Select[Any]:
    return query.join(Site, SurveyPlot.site_id == Site.id)


def sites_with_plots(session: Session) -> Sequence[tuple[str, str]]:
    """Sites to filter by."""
    used = select(SurveyPlot.site_id).where(SurveyPlot.archived_at.is_(None))
    query = select(Site.id, Site.name).where(Site.id.in_(used)).order_by(Site.name).limit(500)
    return [(str(key), name) for key, name in session.execute(query)]


LISTING = Listing(
    model=SurveyPlot,
    order="site",
    joins=_joins,
    columns=(
        Column("name", _l("Plot"), SurveyPlot.name, link=("plots.detail", SurveyPlot.id)),
        Column("site", _l("Planting site"), Site.name, link=("sites.detail", Site.id)),
        Column("site_code", _l("Site code"), Site.code, on_screen=False),
        Column("area_m2", _l("Area"), SurveyPlot.area_m2, "number", digits=1, unit="m²"),
        Column("last_on", _l("Last surveyed"), _LAST, "date", nullable=True),
        Column("latitude", _l("Latitude"), SurveyPlot.latitude, "number", digits=6, on_screen=False),
        Column("longitude", _l("Longitude"), SurveyPlot.longitude, "number", digits=6, on_screen=False),
        Column("notes", _l("Notes"), SurveyPlot.notes, on_screen=False),
    ),
    search=(SurveyPlot.name, Site.code, Site.name),
    filters=(Filter("site", _l("Planting site"), SurveyPlot.site_id, sites_with_plots, parse=whole),),
)


def create_plot(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> SurveyPlot:
    """Write a plot down."""
    del today
    _check(session, values)
    return records.create(session, actor, SurveyPlot, values)


def change_plot(
    session: Session,
    actor: str,
    *,
    row: SurveyPlot,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> SurveyPlot:
    """Correct a plot; surveyed ones stay at their site."""
    del today
    _check(session, {**checking.columns_of(row), **values}, row)
    return records.update(session, actor, row, values, version=version)


def _check(session: Session, values: Mapping[str, Any], row: SurveyPlot | None = None) -> None:
    records.get(session, Site, values["site_id"])
    refused = checking.beyond(values, {"area_m2": AREA_M2})
    latitude, longitude = values.get("latitude"), values.get("longitude")
    if (latitude is None) != (longitude is None):
        missing = "latitude" if latitude is None else "longitude"
        refused[missing] = _("Latitude and longitude go together: fill in both, or none.")
    elif latitude is not None and longitude is not None:
        was = (row.latitude, row.longitude) if row is not None else None
        refused |= refuse_misplaced(session, latitude, longitude, was)
    if row is not None and row.site_id != values["site_id"] and _is_surveyed(session, row):
        refused["site_id"] = _("This plot was surveyed where it lies. Write a new plot down for the other site.")
    if refused:
        raise Invalid(refused)


def _is_surveyed(session: Session, row: SurveyPlot) -> bool:
    return session.scalar(select(Survey.id).where(Survey.plot_id == row.id).limit(1)) is not None
