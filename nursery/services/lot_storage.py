"""What follows for a lot when it is put into another place, or its moisture is typed anew."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, StoragePlace
from nursery.models.lots import Material


def storage_changes(
    session: Session, values: Mapping[Lot, Mapping[str, Any]], today: dt.date
) -> dict[Lot, dict[str, Any]]:
    """The days that change with new values of lots: since when each lies where it lies, what the old place did.

    A place that kills seed of the lot's class is remembered after the lot has left it, unless it was put there and
    taken out on one day: that corrects a slip.
    """
    moved = [lot for lot, given in values.items() if _moves(lot, given)]
    killed = _killed(session, moved)
    return {
        lot: _moisture_day(lot, given, today) | (_place_days(lot, given, today, killed) if lot in moved else {})
        for lot, given in values.items()
    }


def _moves(lot: Lot, values: Mapping[str, Any]) -> bool:
    return "storage_place_id" in values and values["storage_place_id"] != lot.storage_place_id


def _moisture_day(lot: Lot, values: Mapping[str, Any], today: dt.date) -> dict[str, Any]:
    if "moisture_pct" not in values or values["moisture_pct"] == lot.moisture_pct:
        return {}
    return {"moisture_on": None if values["moisture_pct"] is None else today}


def _place_days(lot: Lot, values: Mapping[str, Any], today: dt.date, killed: set[Lot]) -> dict[str, Any]:
    # A day that a person typed holds; the one that is on record belongs to the old place.
    typed = values.get("stored_on")
    found: dict[str, Any] = {"stored_on": today} if typed in (None, lot.stored_on) else {}
    if lot in killed and lot.stored_on != today:
        found["harmed_on"] = typed if typed not in (None, lot.stored_on) else today
    return found


def _killed(session: Session, lots: Iterable[Lot]) -> set[Lot]:
    """Seed lots whose present place kills them."""
    seed = [lot for lot in lots if lot.material is Material.SEED and lot.storage_place_id is not None]
    if not seed:
        return set()
    from nursery.planning.harm import freezes  # noqa: PLC0415 -- numpy is slow to import
    from nursery.services.catalogue import effective_entries  # noqa: PLC0415 -- it asks the ledger, which asks here

    entries = effective_entries(session, {lot.species_id for lot in seed})
    query = select(StoragePlace.id, StoragePlace.temperature_c)
    places = session.execute(query.where(StoragePlace.id.in_({lot.storage_place_id for lot in seed})))
    warmth = {place_id: warm for place_id, warm in places if warm is not None}
    return {
        lot
        for lot in seed
        if lot.storage_place_id in warmth
        and (entry := entries.get(lot.species_id)) is not None
        and freezes(entry.storage.behaviour == "recalcitrant", warmth[lot.storage_place_id])
    }
