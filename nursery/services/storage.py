"""Storage places: where lots are kept."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import lazy as _l
from nursery.models import Lot, StoragePlace
from nursery.services import checking, limits, records
from nursery.services.listing import Column, Listing

#: Liquid nitrogen boils at −196 °C (from memory); no seed is kept hotter than this.
BOUNDS = {"temperature_c": limits.Bounds(-200, 50), "humidity_pct": limits.Bounds(0, 100)}

_LOTS = (
    select(func.count(Lot.id))
    .where(Lot.storage_place_id == StoragePlace.id, Lot.archived_at.is_(None))
    .correlate(StoragePlace)
    .scalar_subquery()
)

LISTING = Listing(
    model=StoragePlace,
    order="name",
    columns=(
        Column("name", _l("Name"), StoragePlace.name, link=("storage.detail", StoragePlace.id)),
        Column("temperature", _l("Temperature"), StoragePlace.temperature_c, "number", digits=1, unit="°C"),
        Column("humidity", _l("Humidity"), StoragePlace.humidity_pct, "number", digits=0, unit="%"),
        Column("lots", _l("Lots"), _LOTS, "number", nullable=False),
        Column("notes", _l("Notes"), StoragePlace.notes),
    ),
    search=(StoragePlace.name, StoragePlace.notes),
)


def create_place(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> StoragePlace:
    """Write a storage place down."""
    del today
    _check(values)
    return records.create(session, actor, StoragePlace, values)


def change_place(
    session: Session,
    actor: str,
    *,
    row: StoragePlace,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> StoragePlace:
    """Change a storage place."""
    del today
    _check(values)
    return records.update(session, actor, row, values, version=version)


def _check(values: Mapping[str, Any]) -> None:
    refused = checking.beyond(values, BOUNDS)
    if refused:
        raise Invalid(refused)
