"""Benches: where in a nursery trays stand, and how much room there is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Bench, Nursery
from nursery.services import checking, records
from nursery.services.limits import Bounds
from nursery.services.listing import Column, Filter, Listing, options_of

#: Common practice: from a shelf to a standing-out ground.
BOUNDS = {"area_m2": Bounds(0, 100_000, above=True)}

LISTING = Listing(
    model=Bench,
    order="name",
    joins=lambda query: query.join(Nursery, Bench.nursery_id == Nursery.id),
    columns=(
        Column("name", _l("Name"), Bench.name, link=("benches.detail", Bench.id)),
        Column("nursery", _l("Nursery"), Nursery.name, link=("nurseries.detail", Nursery.id)),
        Column("area", _l("Usable area"), Bench.area_m2, "number", digits=2, unit="m²"),
        Column("notes", _l("Notes"), Bench.notes, on_screen=False),
    ),
    search=(Bench.name, Nursery.name),
    filters=(Filter("nursery", _l("Nursery"), Nursery.name, options_of(Nursery.name)),),
)


def create_bench(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Bench:
    """Write a bench down; its name is its own within a nursery."""
    del today
    _check(session, values)
    return records.create(session, actor, Bench, values)


def change_bench(
    session: Session,
    actor: str,
    *,
    row: Bench,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Bench:
    """Change a bench."""
    del today
    _check(session, {**checking.columns_of(row), **values}, row.id)
    return records.update(session, actor, row, values, version=version)


def _check(session: Session, values: Mapping[str, Any], own_id: int | None = None) -> None:
    refused = checking.beyond(values, BOUNDS)
    with session.no_autoflush:
        other = session.scalar(
            select(Bench.id).where(Bench.nursery_id == values["nursery_id"], Bench.name == values["name"])
        )
    if other is not None and other != own_id:
        refused["name"] = _(
            "This nursery has a bench “%(name)s” already. Choose another name, or open the existing bench.",
            name=values["name"],
        )
    if refused:
        raise Invalid(refused)
