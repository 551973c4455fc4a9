"""Container types: trays of cells that a nursery has."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import lazy as _l
from nursery.models import Container, Nursery
from nursery.services import checking, records
from nursery.services.limits import Bounds
from nursery.services.listing import Column, Filter, Listing, options_of

#: Common practice: from a single pot to the densest plug tray; from a plug to a tub.
BOUNDS = {
    "cells_per_tray": Bounds(1, 2_000),
    "cell_volume_cm3": Bounds(1, 50_000),
    "tray_length_mm": Bounds(20, 5_000),
    "tray_width_mm": Bounds(20, 5_000),
    "trays_owned": Bounds(0, 1_000_000),
}

LISTING = Listing(
    model=Container,
    order="name",
    joins=lambda query: query.join(Nursery, Container.nursery_id == Nursery.id),
    columns=(
        Column("name", _l("Name"), Container.name, link=("containers.detail", Container.id)),
        Column("nursery", _l("Nursery"), Nursery.name, link=("nurseries.detail", Nursery.id)),
        Column("cells", _l("Cells per tray"), Container.cells_per_tray, "number"),
        Column("volume", _l("Cell volume"), Container.cell_volume_cm3, "number", digits=1, unit="cm³"),
        Column("length", _l("Tray length"), Container.tray_length_mm, "number", digits=1, unit="mm"),
        Column("width", _l("Tray width"), Container.tray_width_mm, "number", digits=1, unit="mm"),
        Column("owned", _l("Trays owned"), Container.trays_owned, "number"),
        Column("notes", _l("Notes"), Container.notes, on_screen=False),
    ),
    search=(Container.name, Nursery.name),
    filters=(Filter("nursery", _l("Nursery"), Nursery.name, options_of(Nursery.name)),),
)


def create_container(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Container:
    """Write a container type down; its name is its own within a nursery."""
    del today
    _check(values)
    return records.create(session, actor, Container, values)


def change_container(
    session: Session,
    actor: str,
    *,
    row: Container,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Container:
    """Change a container type."""
    del today
    _check(values)
    return records.update(session, actor, row, values, version=version)


def _check(values: Mapping[str, Any]) -> None:
    refused = checking.beyond(values, BOUNDS)
    if refused:
        raise Invalid(refused)
