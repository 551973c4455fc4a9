"""The list of plantings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Select, case, select
from sqlalchemy.orm import Session

from nursery.i18n import lazy as _l
from nursery.models import Batch, Dispatch, DispatchLine, Lot, Planting, Site, Species
from nursery.services.listing import Column, Filter, Listing, choice_options, whole

KINDS = {"first": _l("First planting"), "replacement": _l("Replacement")}
KIND = case((Planting.is_replacement, "replacement"), else_="first")
_DENSITY = Planting.plants * 10_000.0 / Planting.area_m2


def _joins(query: Select[Any]) -> Select[Any]:
    return (
        query.join(Site, Planting.site_id == Site.id)
        .join(Lot, Planting.lot_id == Lot.id)
        .join(Species, Lot.species_id == Species.id)
        .outerjoin(Batch, Planting.batch_id == Batch.id)
        .outerjoin(DispatchLine, Planting.dispatch_line_id == DispatchLine.id)
        .outerjoin(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
    )


def _sites(session: Session) -> Sequence[tuple[str, str]]:
    used = select(Planting.site_id).where(Planting.archived_at.is_(None))
    query = select(Site.id, Site.name).where(Site.id.in_(used)).order_by(Site.name).limit(500)
    return [(str(key), name) for key, name in session.execute(query)]


def _species(session: Session) -> Sequence[tuple[str, str]]:
    used = select(Lot.species_id).join(Planting, Planting.lot_id == Lot.id).where(Planting.archived_at.is_(None))
    query = select(Species.key, Species.scientific_name).where(Species.id.in_(used))
    return [(key, name) for key, name in session.execute(query.order_by(Species.scientific_name))]


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
        Column("batch", _l("Batch"), Batch.code, "code", link=("batches.detail", Batch.id), nullable=True),
        Column("kind", _l("Kind"), KIND, "choice", choices=KINDS, nullable=False),
        Column("people", _l("Who planted"), Planting.people, on_screen=False, private=True),
        Column("density", _l("Plants per hectare"), _DENSITY, "number", nullable=True),
        Column("volunteers", _l("Volunteers"), Planting.volunteers, "number", on_screen=False),
        Column("hours", _l("Hours of all together"), Planting.hours, "number", digits=2, on_screen=False),
        Column("area_m2", _l("Ground planted"), Planting.area_m2, "number", digits=1, unit="m²", on_screen=False),
        Column("load", _l("Load"), Dispatch.code, "code", nullable=True, on_screen=False),
        Column("notes", _l("Notes"), Planting.notes, on_screen=False),
    ),
    search=(Site.code, Site.name, Lot.code, Species.scientific_name, Planting.people),
    search_species=True,
    filters=(
        Filter("site", _l("Planting site"), Planting.site_id, _sites, parse=whole),
        Filter("species", _l("Species"), Species.key, _species),
        Filter("kind", _l("Kind"), KIND, choice_options(KINDS)),
    ),
)
