"""Plants that went into the ground: of which lot, at which site, on which day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, Lot, Planting, Site, Species
from nursery.services import limits, records
from nursery.services.batches.dispatching import dispatched_to
from nursery.services.batches.origins import batch_lots
from nursery.services.listing import Column, Listing


def _joins(query: Select[Any]) -> Select[Any]:
    return (
        query.join(Site, Planting.site_id == Site.id)
        .join(Lot, Planting.lot_id == Lot.id)
        .join(Species, Lot.species_id == Species.id)
        .outerjoin(Batch, Planting.batch_id == Batch.id)
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
        Column("batch", _l("Batch"), Batch.code, "code", link=("batches.detail", Batch.id), nullable=True),
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
    names = ("site_id", "lot_id", "batch_id", "planted_on", "plants")
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
    if (batch_id := values.get("batch_id")) is not None:
        refused |= _wrong_batch(session, records.get(session, Batch, batch_id), lot)
    if refused:
        raise Invalid(refused)


def _wrong_batch(session: Session, batch: Batch, lot: Lot) -> dict[str, str]:
    """A batch tells its lots; the planting names one of them."""
    if lot.id in batch_lots(session, [batch.id])[batch.id]:
        return {}
    return {
        "batch_id": _(
            "%(batch)s holds no plants of lot %(lot)s. Correct one of them, or leave the lot empty.",
            batch=batch.code,
            lot=lot.code,
        )
    }


def not_dispatched(session: Session, row: Planting) -> int:
    """Plants of the planting's batch that were planted at its site beyond what the batch sent there."""
    batch = session.get(Batch, row.batch_id) if row.batch_id is not None else None
    if batch is None or row.archived_at is not None:
        return 0
    planted = session.scalar(
        select(func.sum(Planting.plants)).where(
            Planting.batch_id == batch.id, Planting.site_id == row.site_id, Planting.archived_at.is_(None)
        )
    )
    return max(int(planted or 0) - dispatched_to(session, batch).get(row.site_id, 0), 0)
