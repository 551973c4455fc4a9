"""What a mixture is written down as."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy.orm import Session

from nursery.models import Lot
from nursery.planning.mixing import Figures, blend_figures
from nursery.services.ledger.shares import OriginShare
from nursery.services.ledger.splitting import empty_balances
from nursery.services.lot_storage import storage_changes


def identity_of(amounts: Sequence[tuple[Lot, int]], origins: Mapping[int, list[OriginShare]]) -> dict[str, Any]:
    """Columns of the new lot, still empty.

    Year and day are those of the oldest part, so that the seed is never thought younger than it is; a permit is
    carried over where all parts have the same.
    """
    lots = [lot for lot, _amount in amounts]
    largest = max(amounts, key=lambda one: one[1])[0]
    oldest = min(lots, key=lambda lot: (lot.ripening_year, lot.collected_on, lot.id))
    found = {origin.lot.id: origin.lot for lot in lots for origin in origins[lot.id]}
    return {
        "material": largest.material,
        "species_id": largest.species_id,
        "population_id": _largest_population(amounts, origins),
        "trip_id": _same(lot.trip_id for lot in lots),
        "collected_on": oldest.collected_on,
        "ripening_year": oldest.ripening_year,
        "mother_plants": _mothers(list(found.values())),
        "storage_place_id": largest.storage_place_id,
        "permit_id": _same(lot.permit_id for lot in lots),
        "certificate_number": _same(lot.certificate_number for lot in lots) or "",
        "is_received": all(lot.is_received for lot in lots),
        "supplier_document": _same(lot.supplier_document for lot in lots) or "",
        "permit_number": _same(lot.permit_number for lot in lots) or "",
        **_figures(amounts),
        **empty_balances(largest),
    }


def mixed_days(
    session: Session, lots: Sequence[Lot], storage_place_id: int | None, happened_on: dt.date
) -> dict[str, Any]:
    """Since when the mixture lies where it lies, and the latest harm that any of its parts took before."""
    wanted = {"storage_place_id": storage_place_id, "stored_on": None}
    days = storage_changes(session, dict.fromkeys(lots, wanted), happened_on)
    harmed = [day for lot in lots if (day := days[lot].get("harmed_on", lot.harmed_on))]
    since = [day for lot in lots if (day := days[lot].get("stored_on", lot.stored_on))]
    return {"stored_on": max(since, default=None), "harmed_on": max(harmed, default=None)}


def _same(values: Any) -> Any:
    found = set(values)
    return found.pop() if len(found) == 1 else None


def _largest_population(amounts: Sequence[tuple[Lot, int]], origins: Mapping[int, list[OriginShare]]) -> int:
    by_population: dict[int, float] = {}
    for lot, amount in amounts:
        for origin in origins[lot.id]:
            key = origin.lot.population_id
            by_population[key] = by_population.get(key, 0.0) + amount * origin.share
    return max(by_population, key=lambda key: (by_population[key], -key))


def _mothers(origins: Sequence[Lot]) -> int | None:
    """Mothers of several populations add up; those of one population may be the same plants in other years."""
    most: dict[int, int] = {}
    for lot in origins:
        if lot.mother_plants is None:
            return None
        most[lot.population_id] = max(most.get(lot.population_id, 0), lot.mother_plants)
    return sum(most.values())


def _figures(amounts: Sequence[tuple[Lot, int]]) -> dict[str, Any]:
    counted = amounts[0][0].amount_mg is None
    blend = blend_figures(
        [Figures(amount, lot.purity, lot.tsw_g, lot.germination, lot.moisture_pct) for lot, amount in amounts],
        counted=counted,
    )
    tested = [lot.tested_on for lot, _amount in amounts if lot.tested_on]
    return {
        "purity": blend.purity,
        "tsw_g": blend.tsw_g,
        "germination": blend.germination,
        "moisture_pct": blend.moisture_pct,
        # The figure ages from the oldest test in it; from the collection where one part was not tested.
        "tested_on": min(tested) if len(tested) == len(amounts) and blend.germination is not None else None,
    }
