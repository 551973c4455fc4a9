"""Populations: the wild stands where material is collected."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, Population, Species
from nursery.models.places import IndigenousStatus
from nursery.services import checking, limits, records
from nursery.services.codes import next_code
from nursery.services.coordinates import Point, refuse_misplaced
from nursery.services.countries import refuse_country
from nursery.services.listing import Column, Filter, Listing, choice_options, options_of, species_options
from nursery.services.zones.filling import fill_from_map

STATUS_LABELS = {
    IndigenousStatus.AUTOCHTHONOUS: _l("Autochthonous"),
    IndigenousStatus.INDIGENOUS: _l("Indigenous"),
    IndigenousStatus.NON_INDIGENOUS: _l("Not indigenous"),
    IndigenousStatus.UNKNOWN: _l("Unknown"),
}

_YES_NO = {"True": _l("yes"), "False": _l("no")}
BOUNDS = {"elevation_m": limits.ELEVATION_M, "fruiting_plants": limits.FRUITING_PLANTS}

LISTING = Listing(
    model=Population,
    order="code",
    joins=lambda query: query.join(Species, Population.species_id == Species.id),
    columns=(
        Column("code", _l("Code"), Population.code, "code", link=("populations.detail", Population.id)),
        Column("name", _l("Name"), Population.name),
        Column(
            "species",
            _l("Species"),
            Species.scientific_name,
            "taxon",
            link=("species.detail", Species.key),
        ),
        Column("basin", _l("Basin"), Population.basin),
        Column("region", _l("Region of provenance"), Population.region_code),
        Column("elevation", _l("Elevation"), Population.elevation_m, "number", unit="m"),
        Column("fruiting", _l("Fruiting plants"), Population.fruiting_plants, "number"),
        Column("status", _l("Origin"), Population.indigenous_status, "choice", choices=STATUS_LABELS),
        Column("register_reference", _l("Register reference"), Population.register_reference, on_screen=False),
        Column("country", _l("Country"), Population.country, on_screen=False),
        Column(
            "is_sensitive",
            _l("Sensitive place"),
            Population.is_sensitive,
            "choice",
            choices=_YES_NO,
            on_screen=False,
        ),
        Column("latitude", _l("Latitude"), Population.latitude, "number", digits=6, on_screen=False),
        Column("longitude", _l("Longitude"), Population.longitude, "number", digits=6, on_screen=False),
        Column("notes", _l("Notes"), Population.notes, on_screen=False),
    ),
    search=(Population.code, Population.name, Population.basin, Population.region_code),
    search_species=True,
    filters=(
        Filter("species", _l("Species"), Species.key, species_options(Population)),
        Filter("basin", _l("Basin"), Population.basin, options_of(Population.basin)),
        Filter("region", _l("Region of provenance"), Population.region_code, options_of(Population.region_code)),
        Filter(
            "status",
            _l("Origin"),
            Population.indigenous_status,
            choice_options(STATUS_LABELS),
            parse=IndigenousStatus,
        ),
    ),
)


def create_population(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Population:
    """Write a population down; an empty code gets the next one."""
    del today
    code = values.get("code") or propose_code(session)
    checked = fill_from_map(session, {**values, "code": code})
    _check(session, checked)
    return records.create(session, actor, Population, checked)


def change_population(
    session: Session,
    actor: str,
    *,
    row: Population,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Population:
    """Change a population; its species stays once lots are named after it."""
    del today
    checked = fill_from_map(session, {**values, "code": values.get("code") or row.code}, row)
    _check(session, {**checking.columns_of(row), **checked}, was=(row.latitude, row.longitude))
    species_id = checked.get("species_id", row.species_id)
    if species_id != row.species_id and session.scalar(select(exists().where(Lot.population_id == row.id))):
        raise Invalid(
            {
                "species_id": _(
                    "Lots of this population are recorded as %(species)s. Write the other species down as a"
                    " population of its own.",
                    species=row.species.scientific_name,
                )
            }
        )
    return records.update(session, actor, row, checked, version=version)


def propose_code(session: Session) -> str:
    """The next running code."""
    return next_code(session, Population.code, "P-")


def _check(session: Session, values: Mapping[str, Any], was: Point | None = None) -> None:
    refused = checking.beyond(values, BOUNDS)
    refused |= refuse_country(values)
    refused |= refuse_misplaced(session, values["latitude"], values["longitude"], was)
    if refused:
        raise Invalid(refused)
