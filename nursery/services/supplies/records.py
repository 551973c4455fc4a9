"""Supplies as records: written down, changed, listed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Supply, SupplyMovement
from nursery.models.supplies import SupplyKind
from nursery.services import checking, records
from nursery.services.limits import Bounds
from nursery.services.listing import Column, Filter, Listing, choice_options
from nursery.services.supplies.words import KIND_LABELS, UNIT_LABELS, UNIT_OF

#: Common practice: from a single label to a lorry.
BOUNDS = {
    "pack": Bounds(0, 1_000_000, above=True),
    "price_per_pack": Bounds(0, 1_000_000),
    "lead_days": Bounds(0, 365),
    "safety_stock": Bounds(0, 10_000_000),
    "use_per_1000_plants": Bounds(0, 100_000),
}
#: What there is: the sum of the ledger.
STOCK = (
    select(func.coalesce(func.sum(SupplyMovement.change), 0.0))
    .where(SupplyMovement.supply_id == Supply.id)
    .correlate(Supply)
    .scalar_subquery()
)

LISTING = Listing(
    model=Supply,
    order="name",
    columns=(
        Column("name", _l("Name"), Supply.name, link=("supplies.detail", Supply.id)),
        Column("kind", _l("Kind"), Supply.kind, "choice", choices=KIND_LABELS),
        Column("stock", _l("In stock"), STOCK, "number", digits=2, nullable=False),
        Column("unit", _l("Unit"), Supply.unit, "choice", choices=UNIT_LABELS, sortable=False),
        Column("safety", _l("Safety stock"), Supply.safety_stock, "number", digits=2),
        Column("pack", _l("In a pack"), Supply.pack, "number", digits=2),
        Column("price", _l("Price of a pack"), Supply.price_per_pack, "number", digits=2),
        Column("lead", _l("Days to delivery"), Supply.lead_days, "number"),
        Column("supplier", _l("Supplier"), Supply.supplier),
        Column("use", _l("Use for 1,000 plants"), Supply.use_per_1000_plants, "number", digits=3, on_screen=False),
        Column("notes", _l("Notes"), Supply.notes, on_screen=False),
    ),
    search=(Supply.name, Supply.supplier),
    filters=(Filter("kind", _l("Kind"), Supply.kind, choice_options(KIND_LABELS), parse=SupplyKind),),
)


def create_supply(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Supply:
    """Write a supply down; its stock begins with its first count or delivery."""
    del today
    settled = _settled(values)
    _check(settled)
    return records.create(session, actor, Supply, settled)


def change_supply(
    session: Session,
    actor: str,
    *,
    row: Supply,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Supply:
    """Change a supply; its unit stays once there is a ledger in it."""
    del today
    settled = _settled({**checking.columns_of(row), **values})
    _check(settled)
    if settled["unit"] != row.unit and session.scalar(
        select(SupplyMovement.id).where(SupplyMovement.supply_id == row.id).limit(1)
    ):
        raise Conflict(_("Its ledger is kept in the present unit. Write a new supply down for another unit."))
    kept = {name: value for name, value in settled.items() if name in values or name in {"unit", "container_id"}}
    return records.update(session, actor, row, kept, version=version)


def _settled(values: Mapping[str, Any]) -> dict[str, Any]:
    """With the unit that the kind has, and a container only where it is one."""
    kind = values["kind"]
    found = {**values, "unit": UNIT_OF.get(kind, values["unit"])}
    if kind is not SupplyKind.CONTAINER:
        found["container_id"] = None
    for name, empty in (("pack", 1.0), ("lead_days", 14), ("safety_stock", 0.0)):
        if found.get(name) is None:
            found[name] = empty
    return found


def _check(values: Mapping[str, Any]) -> None:
    refused = checking.beyond(values, BOUNDS)
    if values["kind"] is SupplyKind.CONTAINER and values.get("container_id") is None:
        refused["container_id"] = _("Say which container it is: its trays are counted by the plan.")
    if refused:
        raise Invalid(refused)
