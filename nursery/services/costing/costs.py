"""Costs of plants, planned and so far, by species, batch, site or funder."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models import Batch, Container
from nursery.planning.work.costs import PARTS, Borne, Part
from nursery.services.costing.bearing import Bearers, borne_by, read_leaving, species_names
from nursery.services.costing.carriers import Carrier, Growing, Plants, read_carriers
from nursery.services.costing.pools import actual_pools, planned_pools, unlogged_hours
from nursery.services.costing.prices import Prices, read_prices
from nursery.services.costing.standard_times import standard_times
from nursery.services.planning import current_plan

By = Literal["species", "batch", "site", "funder"]


@dataclass(frozen=True, slots=True)
class Side:
    """Cents and quantities by part, and the plants that they gave; planned or so far."""

    cents: Sequence[int]
    quantities: Sequence[float]
    plants: Plants

    @property
    def total(self) -> int:
        """All parts, in cents."""
        return sum(self.cents)

    def part(self, part: Part) -> int:
        """One part, in cents."""
        return self.cents[PARTS.index(part)]

    def quantity(self, part: Part) -> float:
        """Hours, seeds, trays, litres … behind a part."""
        return self.quantities[PARTS.index(part)]

    def per(self, plants: float) -> float | None:
        """Money for one of so many plants; None where there is none."""
        return self.total / 100 / plants if plants > 0 else None


@dataclass(frozen=True, slots=True)
class CostRow:
    """One species, batch, site or funder; ``id`` is that of its record, None for what has none."""

    id: int | None
    label: str
    planned: Side
    #: What was planned for the batches that are sown: what was spent so far is for these.
    sown: Side
    actual: Side
    #: Hours given and what they are worth, in cents: beside the costs, not in them.
    hours_given: float
    in_kind: int


@dataclass(frozen=True, slots=True)
class Costs:
    """All rows, their total, and what is not in it."""

    rows: Sequence[CostRow]
    total: CostRow
    prices: Prices
    seasons: Sequence[int]
    unpriced: Sequence[str]
    has_substrate_price: bool
    unlogged: float


@dataclass(frozen=True, slots=True)
class Reckoned:
    """What every carrier bears, before anything is grouped."""

    carriers: Sequence[Carrier]
    planned: Borne
    actual: Borne
    given: Borne
    prices: Prices
    unpriced: Sequence[str]


def read_costs(session: Session, *, by: By = "species", season: int | None = None) -> Costs:
    """Costs by species, batch, site or funder, of one planting season or of all."""
    return share_out(reckon(session), by=by, season=season, unlogged=unlogged_hours(session))


def share_out(found: Reckoned, *, by: By, season: int | None, unlogged: float) -> Costs:
    """What was reckoned, grouped; every way of grouping comes to the same total."""
    chosen = [at for at, carrier in enumerate(found.carriers) if season is None or carrier.season == season]
    key, label = _JOINED[by]
    groups: dict[tuple[int | None, str], list[int]] = {}
    for at in chosen:
        groups.setdefault((key(found.carriers[at]), label(found.carriers[at])), []).append(at)
    rows = [_row(found, record_id, name, members) for (record_id, name), members in groups.items()]
    return Costs(
        rows=sorted(rows, key=lambda row: (row.id is None and by != "funder", row.label.casefold())),
        total=_row(found, None, _("All together"), chosen),
        prices=found.prices,
        seasons=sorted({one.season for one in found.carriers if one.season is not None}),
        unpriced=found.unpriced,
        has_substrate_price=found.prices.litre is not None,
        unlogged=unlogged,
    )


def batch_costs(session: Session, batch: Batch) -> tuple[CostRow, Prices]:
    """What one batch was planned to cost and has cost so far, and the prices behind it."""
    found = reckon(session)
    own = [at for at, carrier in enumerate(found.carriers) if carrier.batch_id == batch.id]
    return _row(found, batch.id, batch.code, own), found.prices


def reckon(session: Session) -> Reckoned:
    """Lay all money, planned and spent, on its carriers; a fixed number of queries."""
    prices, growing = read_prices(session), read_carriers(session, current_plan(session))
    containers = {one.id: one for one in session.scalars(select(Container))}
    bearers = Bearers(growing.carriers, read_leaving(session), species_names(session))
    planned = [
        replace(pool, money=pool.money * share, quantity=pool.quantity * share)
        for pool in planned_pools(growing.lines, prices, standard_times(session), containers)
        if (share := bearers.line_weight(pool.line_id or 0)) > 0
    ]
    grown: dict[int, float] = {}
    for one in growing.carriers:
        if one.batch_id is not None:
            grown[one.batch_id] = grown.get(one.batch_id, 0.0) + one.actual.grown
    actual = actual_pools(session, growing.batches, prices, grown)
    spent, given = [pool for pool in actual if not pool.in_kind], [pool for pool in actual if pool.in_kind]
    for pools in (planned, spent, given):
        bearers.weights(pools)  # carriers for what none fits come to be here, before anything is laid on them
    return Reckoned(
        carriers=bearers.carriers,
        planned=borne_by(bearers, planned, prices.overhead),
        actual=borne_by(bearers, spent, prices.overhead),
        given=borne_by(bearers, given, 0.0),
        prices=prices,
        unpriced=[*_without_price(growing, containers, prices), *prices.unpriced],
    )


def _without_price(growing: Growing, containers: Mapping[int, Container], prices: Prices) -> list[str]:
    """Containers in use that no supply gives a price for."""
    used = {one.container_id for one in growing.batches} | {one.container_id for one in growing.lines}
    return sorted({containers[key].name for key in used if key and key not in prices.trays})


def _row(found: Reckoned, record_id: int | None, label: str, members: Sequence[int]) -> CostRow:
    carriers = [found.carriers[at] for at in members]
    sown = [at for at in members if found.carriers[at].batch_id is not None]
    return CostRow(
        id=record_id,
        label=label,
        planned=_side(found.planned, members, [one.planned for one in carriers]),
        sown=_side(found.planned, sown, [found.carriers[at].planned for at in sown]),
        actual=_side(found.actual, members, [one.actual for one in carriers]),
        hours_given=float(found.given.quantities[members].sum()),
        in_kind=int(found.given.cents[members].sum()),
    )


def _side(borne: Borne, members: Sequence[int], plants: Sequence[Plants]) -> Side:
    at = np.array(members, np.int64)
    return Side(
        borne.cents[at].sum(axis=0).tolist(),
        borne.quantities[at].sum(axis=0).tolist(),
        Plants(
            sum(one.grown for one in plants),
            sum(one.planted for one in plants),
            sum(one.surviving for one in plants),
        ),
    )


_JOINED: dict[By, tuple[Callable[[Carrier], int | None], Callable[[Carrier], str]]] = {
    "species": (lambda one: one.species_id, lambda one: one.species or _("Nothing in particular")),
    "batch": (lambda one: one.batch_id, lambda one: one.batch or _unsown(one)),
    "site": (lambda one: one.site_id, lambda one: one.site or _("No site yet")),
    "funder": (lambda _one: None, lambda one: one.funder or _("No funder named")),
}


def _unsown(carrier: Carrier) -> str:
    return _("Not sown yet") if carrier.line_id is not None else _("No batch")
