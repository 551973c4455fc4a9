"""How stocks run over the weeks ahead, and what to order by when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.models import Supply
from nursery.models.supplies import SupplyKind
from nursery.planning.arrays import Floats
from nursery.planning.space.supplies import plan_orders
from nursery.services.supplies.needs import Needs, read_needs
from nursery.services.supplies.stock import balances
from nursery.services.weeks import Week


@dataclass(frozen=True, slots=True)
class Order:
    """Packs of one supply, to be ordered by a day and to have come in a week."""

    supply: Supply
    packs: int
    order_on: dt.date
    needed_in: Week
    is_late: bool

    @property
    def amount(self) -> float:
        """In the supply's unit."""
        return self.packs * self.supply.pack

    @property
    def price(self) -> float | None:
        """Of all its packs; None where no price is known."""
        each = self.supply.price_per_pack
        return None if each is None else self.packs * each


@dataclass(frozen=True)
class Outlook:
    """One supply over the weeks: stock if nothing is ordered, stock with the orders, and the orders."""

    supply: Supply
    stock: float
    level: Floats
    with_orders: Floats
    orders: Sequence[Order]

    @property
    def low_from(self) -> int | None:
        """The first week in which stock would be below the safety stock; None where there is none."""
        below = np.flatnonzero(self.level < self.supply.safety_stock - 1e-9)
        return int(below[0]) if below.size else None


@dataclass(frozen=True)
class Store:
    """All supplies over the same weeks."""

    needs: Needs
    outlooks: Sequence[Outlook]

    @property
    def orders(self) -> list[Order]:
        """All orders, the most pressing first."""
        found = [order for outlook in self.outlooks for order in outlook.orders]
        return sorted(found, key=lambda order: (order.order_on, order.supply.name))

    @property
    def substrates(self) -> int:
        """Substrates among which the need is divided."""
        return sum(outlook.supply.kind is SupplyKind.SUBSTRATE for outlook in self.outlooks)


def read_store(session: Session, *, today: dt.date) -> Store:
    """Every supply in use with its year ahead, in a fixed number of queries."""
    supplies = session.scalars(
        select(Supply)
        .where(Supply.archived_at.is_(None))
        .options(joinedload(Supply.container))
        .order_by(Supply.name)
    ).all()
    needs = read_needs(session, today=today)
    held = balances(session)
    substrates = sum(supply.kind is SupplyKind.SUBSTRATE for supply in supplies)
    stocks = np.array([_stock(supply, held) for supply in supplies], np.float64)
    taken = [_taken(supply, needs, substrates) for supply in supplies]
    level = stocks[:, None] - np.array(taken, np.float64).reshape(len(supplies), len(needs.weeks))
    safety, pack = (
        np.array([getattr(supply, name) for supply in supplies], np.float64) for name in ("safety_stock", "pack")
    )
    orders, with_orders = plan_orders(level, safety, pack)
    found: list[list[Order]] = [[] for _supply in supplies]
    for at, week, packs in zip(orders.supply.tolist(), orders.week.tolist(), orders.packs.tolist(), strict=True):
        found[at].append(_order(supplies[at], packs, needs.weeks[week], today))
    return Store(
        needs,
        [
            Outlook(supply, float(stocks[at]), level[at], with_orders[at], found[at])
            for at, supply in enumerate(supplies)
        ],
    )


def _stock(supply: Supply, held: Mapping[int, float]) -> float:
    """What the ledger tells; trays that were never counted, as their container's record has them."""
    if supply.id not in held and supply.kind is SupplyKind.CONTAINER and supply.container is not None:
        return float(supply.container.trays_owned or 0)
    return held.get(supply.id, 0.0)


def _taken(supply: Supply, needs: Needs, substrates: int) -> Floats:
    """What is gone by the end of each week; for containers, trays that stand full in it."""
    if supply.kind is SupplyKind.CONTAINER:
        if supply.container_id not in needs.containers:
            return np.zeros(len(needs.weeks))
        return np.asarray(needs.full[needs.containers.index(supply.container_id)])
    if supply.kind is SupplyKind.SUBSTRATE:
        return np.asarray(np.cumsum(needs.litres) / max(substrates, 1))
    plants = needs.fed if supply.kind is SupplyKind.FEED else needs.sown
    return np.asarray(np.cumsum(plants) * (supply.use_per_1000_plants or 0.0) / 1000)


def _order(supply: Supply, packs: int, week: Week, today: dt.date) -> Order:
    order_on = week.monday - dt.timedelta(days=supply.lead_days)
    return Order(supply, packs, order_on, week, is_late=order_on < today)
