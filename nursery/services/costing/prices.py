"""What things cost: hours, seed, trays, substrate and other supplies, from what is on record."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Lot, Movement, Preferences, StoragePlace, Supply, Trip
from nursery.models.movements import Measure, MovementKind
from nursery.models.supplies import SupplyKind, SupplyUnit
from nursery.planning.heavy import pd
from nursery.planning.work.costs import TRAY_USES
from nursery.services.catalogue import effective_entries
from nursery.services.lot_figures import lot_figures

#: How clean seed comes into a lot; withdrawals and samples are no part of what was collected.
_GAINED = (MovementKind.OPENING, MovementKind.COLLECTED, MovementKind.EXTRACTED, MovementKind.CLEANED)


@dataclass(frozen=True)
class Prices:
    """Money for one of each. What is not known is absent (or None), never guessed."""

    currency: str
    wage: float
    volunteer: float
    overhead: float
    #: Of a seed whose lot tells no price of its own.
    seed: float
    #: Of a seed by lot, from the hours of the trip that collected it.
    lots: Mapping[int, float]
    #: Of a tray for one season by container.
    trays: Mapping[int, float]
    #: Of a litre of substrate.
    litre: float | None
    #: Of labels, feed and others for a thousand plants.
    per_1000: float
    #: Names of supplies without a price or a rate of use, which are in no sum.
    unpriced: tuple[str, ...]

    def of_lot(self, lot_id: int | None) -> float:
        """Price of a seed of a lot."""
        return self.lots.get(lot_id or 0, self.seed)


def read_prices(session: Session) -> Prices:
    """Prices of today, in a fixed number of queries."""
    row = session.get(Preferences, 1) or Preferences(
        cost_seed=0.02, currency="EUR", wage_per_hour=14.0, volunteer_per_hour=0.0, overhead=0.15
    )
    supplies = session.scalars(select(Supply).where(Supply.archived_at.is_(None)).order_by(Supply.name)).all()
    trays, litres, others, unpriced = defaultdict(list), [], 0.0, []
    for supply in supplies:
        price = None if supply.price_per_pack is None else supply.price_per_pack / supply.pack
        if price is None:
            unpriced.append(supply.name)
        elif supply.kind is SupplyKind.CONTAINER and supply.container_id is not None:
            trays[supply.container_id].append(price / TRAY_USES)
        elif supply.kind is SupplyKind.SUBSTRATE and supply.unit is SupplyUnit.LITRES:
            litres.append(price)
        elif supply.use_per_1000_plants is not None:
            others += price * supply.use_per_1000_plants
        else:
            unpriced.append(supply.name)
    return Prices(
        currency=row.currency, wage=row.wage_per_hour, volunteer=row.volunteer_per_hour, overhead=row.overhead,
        seed=row.cost_seed, lots=_lots(session, row.wage_per_hour),
        trays={key: sum(found) / len(found) for key, found in trays.items()},
        litre=sum(litres) / len(litres) if litres else None, per_1000=others, unpriced=tuple(unpriced),
    )  # fmt: skip


def _lots(session: Session, wage: float) -> dict[int, float]:
    """Price of a seed of each lot whose trip has its hours on record.

    A trip's hours are shared evenly by its lots; they are paid at the nursery's wage. Kilometres are no hours:
    they are written down as an expense.
    """
    shared = (
        select(Lot.trip_id, func.count(Lot.id).label("lots")).where(Lot.trip_id.is_not(None)).group_by(Lot.trip_id)
    ).subquery()
    gained = (
        select(Movement.lot_id, func.sum(Movement.change).label("gained"))
        .where(Movement.kind.in_(_GAINED), Movement.measure != Measure.FRUIT)
        .group_by(Movement.lot_id)
    ).subquery()
    rows = session.execute(
        select(
            Lot.id.label("lot_id"), Lot.species_id, Lot.material, Lot.purity, Lot.tsw_g, Lot.germination,
            Lot.tested_on, Lot.collected_on, Lot.moisture_pct, StoragePlace.temperature_c, Lot.moisture_on,
            Lot.stored_on, Lot.harmed_on, Lot.amount_mg, Lot.pieces, Trip.hours, shared.c.lots, gained.c.gained,
        )
        .join(Trip, Lot.trip_id == Trip.id)
        .join(shared, shared.c.trip_id == Lot.trip_id)
        .join(gained, gained.c.lot_id == Lot.id)
        .outerjoin(Lot.storage_place)
        .where(Trip.hours > 0, gained.c.gained > 0)
    )  # fmt: skip
    lots = pd.DataFrame([tuple(row) for row in rows], columns=list(rows.keys()))
    entries = effective_entries(session, set(lots["species_id"])) if len(lots) else {}
    lots = lots[lots["species_id"].isin(list(entries))].reset_index(drop=True)
    if not len(lots):
        return {}
    counted = lots["pieces"].notna()
    lots = lots.assign(
        amount_mg=lots["gained"].where(~counted).astype(float), pieces=lots["gained"].where(counted).astype(float)
    )
    seeds = lot_figures(lots, entries)["seeds"].to_numpy(np.float64)
    spent = lots["hours"].to_numpy(np.float64) * wage / lots["lots"].to_numpy(np.float64)
    return {
        lot_id: money / count
        for lot_id, money, count in zip(lots["lot_id"].tolist(), spent.tolist(), seeds.tolist(), strict=True)
        if count > 0
    }
