"""Planting sites: where plants go, and the days of the year when planting there makes sense."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Site, Target
from nursery.models.targets import TargetBasis
from nursery.services import checking, limits, records
from nursery.services.codes import next_code
from nursery.services.coordinates import Point, refuse_misplaced
from nursery.services.listing import Column, Filter, Listing, options_of
from nursery.services.year_days import DAY_TEXTS
from nursery.services.zones.filling import fill_from_map

BOUNDS = {"area_ha": limits.AREA_HA, "elevation_m": limits.ELEVATION_M}

LISTING = Listing(
    model=Site,
    order="code",
    columns=(
        Column("code", _l("Code"), Site.code, "code", link=("sites.detail", Site.id)),
        Column("name", _l("Name"), Site.name),
        Column("area", _l("Area"), Site.area_ha, "number", digits=2, unit="ha"),
        Column("basin", _l("Basin"), Site.basin),
        Column("region", _l("Region of provenance"), Site.region_code),
        Column("elevation", _l("Elevation"), Site.elevation_m, "number", unit="m"),
        Column("opens", _l("Planting opens"), Site.window_opens, "choice", choices=DAY_TEXTS),
        Column("closes", _l("Planting closes"), Site.window_closes, "choice", choices=DAY_TEXTS),
        Column("planting_permit", _l("Planting authorisation"), Site.planting_permit, on_screen=False),
        Column("latitude", _l("Latitude"), Site.latitude, "number", digits=6, on_screen=False),
        Column("longitude", _l("Longitude"), Site.longitude, "number", digits=6, on_screen=False),
        Column("notes", _l("Notes"), Site.notes, on_screen=False),
    ),
    search=(Site.code, Site.name, Site.basin, Site.region_code),
    filters=(
        Filter("basin", _l("Basin"), Site.basin, options_of(Site.basin)),
        Filter("region", _l("Region of provenance"), Site.region_code, options_of(Site.region_code)),
    ),
)


def create_site(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Site:
    """Write a site down; an empty code gets the next one."""
    del today
    coded = {**values, "code": values.get("code") or next_code(session, Site.code, "S-")}
    checked = fill_from_map(session, coded)
    _check(session, checked)
    return records.create(session, actor, Site, checked)


def change_site(
    session: Session,
    actor: str,
    *,
    row: Site,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Site:
    """Change a site; its area stays while targets are reckoned from it."""
    del today
    checked = fill_from_map(session, {**values, "code": values.get("code") or row.code}, row)
    _check(session, {**checking.columns_of(row), **checked}, was=(row.latitude, row.longitude))
    if checked.get("area_ha", row.area_ha) is None and row.area_ha is not None and _has_density(session, row):
        raise Invalid(
            {
                "area_ha": _(
                    "Targets of this site are given as plants per hectare, which needs the area. Fill it in."
                )
            }
        )
    return records.update(session, actor, row, checked, version=version)


def _has_density(session: Session, row: Site) -> bool:
    by_density = exists().where(
        Target.site_id == row.id, Target.basis == TargetBasis.DENSITY, Target.archived_at.is_(None)
    )
    return bool(session.scalar(select(by_density)))


def _check(session: Session, values: Mapping[str, Any], was: Point | None = None) -> None:
    refused = checking.beyond(values, BOUNDS)
    refused |= refuse_misplaced(session, values["latitude"], values["longitude"], was)
    if refused:
        raise Invalid(refused)
