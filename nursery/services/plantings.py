"""Plants that went into the ground: of which lot, at which site, on which day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, Planting, Site, Species
from nursery.services import limits, records
from nursery.services.listing import Column, Listing


def _joins(query: Select[Any]) -> Select[Any]:
    return (
        query.join(Site, Planting.site_id == Site.id)
        .join(Lot, Planting.lot_id == Lot.id)
        .join(Species, Lot.species_id == Species.id)
    )


LISTING = Listing(
    model=Planting,
    order="-planted_on",
    joins=_joins,
    columns=(
        Column(
            "planted_on", _l("Planted on"), Planting.planted_on, "date", link=("plantings.detail", Planting.id)
        ),
        Column("plants", _l("Plants"), Planting.plants, "number"),
        Column("species", _l("Species"), Species.scientific_name, "taxon"),
        Column("lot", _l("Lot"), Lot.code, "code", link=("lots.detail", Lot.id)),
        Column("site", _l("Planting site"), Site.name, link=("sites.detail", Site.id)),
        Column("site_code", _l("Site code"), Site.code, on_screen=False),
        Column("notes", _l("Notes"), Planting.notes, on_screen=False),
    ),
    search=(Site.code, Site.name, Lot.code, Species.scientific_name),
    search_species=True,
)


def create_planting(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Planting:
    """Write a planting down. What the rules of origin say of it refuses nothing: it has happened."""
    _check(session, values, today)
    return records.create(session, actor, Planting, values)


def change_planting(
    session: Session,
    actor: str,
    *,
    row: Planting,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Planting:
    """Correct a planting."""
    names = ("site_id", "lot_id", "planted_on", "plants")
    _check(session, {**{name: getattr(row, name) for name in names}, **values}, today)
    return records.update(session, actor, row, values, version=version)


def _check(session: Session, values: Mapping[str, Any], today: dt.date) -> None:
    refused: dict[str, str] = {}
    lot = records.get(session, Lot, values["lot_id"])
    records.get(session, Site, values["site_id"])
    day, plants = values["planted_on"], values["plants"]
    if refusal := limits.PLANTS.refusal(plants):
        refused["plants"] = refusal
    elif plants != int(plants):
        refused["plants"] = _("%(value)s is not a whole number. Leave the decimals out.", value=plants)
    if day > today:
        refused["planted_on"] = _(
            "%(day)s is still to come. Write a planting down on its day or later.", day=format_date(day)
        )
    elif day < lot.collected_on:
        refused["planted_on"] = _(
            "%(day)s is before lot %(lot)s was collected, on %(collected)s. Correct the day or the lot.",
            day=format_date(day),
            lot=lot.code,
            collected=format_date(lot.collected_on),
        )
    if refused:
        raise Invalid(refused)
